//! What serial line 0 receives, put into a ring by the chip itself.
//!
//! An interrupt a byte would take more of the processor than everything else in a
//! pass. A channel of the DMA controller takes nothing: it writes each byte into a
//! ring, and a pass looks how far it has come.

use core::cell::UnsafeCell;
use core::ptr;

use rp2040_hal::pac;

/// Bytes in the ring, as a power of two: room for a whole set of settings, and more.
const RING_BITS: u32 = 9;
const RING: usize = 1 << RING_BITS;

/// The controller's number for a byte received on serial line 0.
const RECEIVED_ON_LINE_0: u8 = 21;

/// The controller wraps within addresses of this alignment.
#[repr(align(512))]
struct Ring(UnsafeCell<[u8; RING]>);

// SAFETY: only the one `Receiver` reads it, byte by byte and volatile.
unsafe impl Sync for Ring {}

static HEARD: Ring = Ring(UnsafeCell::new([0; RING]));

/// Channel 0 of the controller, and how far its bytes have been taken.
pub struct Receiver {
    controller: pac::DMA,
    taken: usize,
}

impl Receiver {
    /// Lets the channel take whatever line 0 receives, from now on.
    pub fn started(controller: pac::DMA, resets: &pac::RESETS) -> Self {
        // Set first: after a reset of the core alone the channel may still be at work.
        resets.reset().modify(|_, w| w.dma().set_bit());
        resets.reset().modify(|_, w| w.dma().clear_bit());
        while resets.reset_done().read().dma().bit_is_clear() {}
        // SAFETY: asking the serial line to ask the controller changes nothing else.
        unsafe {
            (*pac::UART0::PTR)
                .uartdmacr()
                .write(|w| w.rxdmae().set_bit());
        }
        let channel = controller.ch(0);
        // SAFETY: the channel writes nowhere but within the ring, which is aligned to its size.
        unsafe {
            let line = (*pac::UART0::PTR).uartdr().as_ptr();
            channel.ch_read_addr().write(|w| w.bits(line as u32));
            channel
                .ch_write_addr()
                .write(|w| w.bits(HEARD.0.get() as u32));
            channel.ch_al1_ctrl().write(|w| {
                w.data_size().size_byte();
                w.incr_write().set_bit();
                w.ring_sel().set_bit();
                w.ring_size().bits(RING_BITS as u8);
                w.chain_to().bits(0);
                w.treq_sel().bits(RECEIVED_ON_LINE_0);
                w.irq_quiet().set_bit();
                w.en().set_bit()
            });
        }
        let receiver = Self {
            controller,
            taken: 0,
        };
        receiver.go_on();
        receiver
    }

    /// Starts the channel on as many bytes as it can count: four days of a busy line.
    fn go_on(&self) {
        // SAFETY: any count will do.
        unsafe {
            self.controller
                .ch(0)
                .ch_al1_trans_count_trig()
                .write(|w| w.bits(u32::MAX));
        }
    }

    /// The next byte, if one has been received. Of more bytes than the ring holds
    /// between two looks, the oldest are lost.
    pub fn take(&mut self) -> Option<u8> {
        let channel = self.controller.ch(0);
        let written = channel.ch_write_addr().read().bits() as usize % RING;
        if self.taken == written {
            if channel.ch_al1_ctrl().read().busy().bit_is_clear() {
                self.go_on();
            }
            return None;
        }
        // SAFETY: the place lies within the ring.
        let byte = unsafe { ptr::read_volatile(HEARD.0.get().cast::<u8>().add(self.taken)) };
        self.taken = (self.taken + 1) % RING;
        Some(byte)
    }
}
