//! The reference board: an RP2040 with a 12 MHz crystal.
//!
//! The processor runs from the chip's own ring oscillator, the timer, the
//! watchdog, the converter and the serial line from the crystal. So a crystal
//! that stops takes the time away but not the processor, which notices by its
//! own beat and releases the relay.

use core::arch::global_asm;
use core::cell::{Cell, RefCell};

use critical_section::Mutex;
use embedded_hal::delay::DelayNs;
use embedded_hal::digital::InputPin;
use rp2040_hal as hal;

use hal::adc::AdcPin;
use hal::clocks::{ClockSource, ClocksManager};
use hal::fugit::{ExtU32, RateExtU32};
use hal::gpio::bank0::{
    Gpio0, Gpio1, Gpio4, Gpio5, Gpio12, Gpio13, Gpio14, Gpio15, Gpio16, Gpio17, Gpio26,
};
use hal::gpio::{
    FunctionI2C, FunctionSio, FunctionUart, Interrupt, Pin, PullDown, PullNone, PullUp, SioInput,
    SioOutput,
};
use hal::pac::interrupt;
use hal::timer::{Alarm, Alarm0, Alarm1, Instant};
use hal::uart::{DataBits, StopBits, UartConfig, UartPeripheral, Writer};
use hal::{Adc, Sio, Timer, pac};

use super::pico_bus::PatientBus;
use super::pico_receiver::Receiver;
use crate::half_waves::{HalfWaves, Level, Noting};
use crate::ports::{
    Board, ContactFeedback, Converter, LoadSide, MicrosecondCounter, Ports, ServiceLine,
    StartCause, Watchdog,
};

/// Begins with the 32 hardware locks let go: a reset of the core alone leaves them held,
/// and the first critical section would wait for ever.
pub use hal::entry;

#[unsafe(link_section = ".boot2")]
#[used]
static BOOT2: [u8; 256] = rp2040_boot2::BOOT_LOADER_GENERIC_03H;

/// The crystal.
const CRYSTAL_HZ: u32 = 12_000_000;
/// The ring oscillator as it starts; on a real chip anything from 1.8 to 12 MHz.
const RING_HZ: u32 = 6_500_000;
/// The processor's own beat: half a second at the nominal frequency, 0.27 to 1.8 s in truth.
const BEAT_CYCLES: u32 = 3_250_000;
/// The relay's pin, for those who release it without owning it.
const RELAY_MASK: u32 = 1 << 15;
/// The contact feedback's fall, in the registers of the interrupts of pins 8 to 15.
const FALL_MASK: u32 = 1 << (4 * (14 - 8) + 2);
/// The number of those registers.
const PINS_8_TO_15: usize = 1;
/// A pass begins this often.
const PASS_MICROS: u32 = 100_000;
/// The watchdog bites after this long.
const WATCHDOG_MICROS: u32 = 1_000_000;

// The relay is released before anything else runs, even the setting up of memory: a reset
// of the core alone leaves its pin as it was. The first register clears pins of those set.
global_asm!(
    ".section .text.__pre_init, \"ax\"",
    ".global __pre_init",
    ".type __pre_init, %function",
    ".thumb_func",
    "__pre_init:",
    "    ldr r0, =0xd0000018",
    "    ldr r1, ={relay}",
    "    str r1, [r0]",
    "    bx lr",
    "    .ltorg",
    ".text",
    relay = const RELAY_MASK,
);

type Output<P> = Pin<P, FunctionSio<SioOutput>, PullDown>;
type Input<P> = Pin<P, FunctionSio<SioInput>, PullUp>;
type SerialPins = (
    Pin<Gpio0, FunctionUart, PullNone>,
    Pin<Gpio1, FunctionUart, PullUp>,
);

/// The parts of this board.
pub enum Pico {}

impl Board for Pico {
    type Probe = Probe;
    type Relay = Output<Gpio15>;
    type Feedback = LoadSideInput;
    type Lock = Input<Gpio13>;
    type Button = Input<Gpio12>;
    type Light = Output<Gpio16>;
    type Buzzer = Output<Gpio17>;
    type Bus = PatientBus<Pin<Gpio4, FunctionI2C, PullUp>, Pin<Gpio5, FunctionI2C, PullUp>>;
    type Delay = Sleep;
    type Counter = Timer;
    type Watchdog = hal::Watchdog;
    type Service = SerialLine;
}

/// The probe's input of the converter.
pub struct Probe {
    converter: Adc,
    input: AdcPin<Pin<Gpio26, hal::gpio::FunctionNull, PullNone>>,
}

impl Converter for Probe {
    fn convert(&mut self) -> Option<u16> {
        self.converter.read(&mut self.input).ok()
    }
}

/// The input that is low while the load side of the contact is live, or in step with its
/// half-waves.
pub struct LoadSideInput {
    pin: Input<Gpio14>,
    timer: Timer,
}

static HALF_WAVES: Mutex<Cell<HalfWaves>> = Mutex::new(Cell::new(HalfWaves::NONE));

impl LoadSideInput {
    /// Notes the falls of the input from now on.
    fn started(mut pin: Input<Gpio14>, timer: Timer) -> Self {
        pin.clear_interrupt(Interrupt::EdgeLow);
        pin.set_interrupt_enabled(Interrupt::EdgeLow, true);
        Self { pin, timer }
    }
}

impl ContactFeedback for LoadSideInput {
    fn look(&mut self) -> LoadSide {
        critical_section::with(|held| {
            let level = match self.pin.is_low() {
                Ok(true) => Level::Low,
                Ok(false) => Level::High,
            };
            let mut half_waves = HALF_WAVES.borrow(held).get();
            let load_side = half_waves.look(self.timer.get_counter_low(), level);
            HALF_WAVES.borrow(held).set(half_waves);
            // Where noise made it pause.
            self.pin.set_interrupt_enabled(Interrupt::EdgeLow, true);
            load_side
        })
    }
}

/// Waits asleep.
pub struct Sleep {
    timer: Timer,
    alarm: Alarm1,
}

impl DelayNs for Sleep {
    fn delay_ns(&mut self, ns: u32) {
        let micros = ns.div_ceil(1_000);
        let start = self.timer.get_counter_low();
        // Scheduling in the past fires at once, so this cannot fail.
        let _ = self.alarm.schedule(micros.micros());
        // As in `wait_for_pass`: the alarm is not missed between the look and the sleep.
        while critical_section::with(|_| {
            let early = self.timer.get_counter_low().wrapping_sub(start) < micros;
            if early {
                cortex_m::asm::wfi();
            }
            early
        }) {}
    }
}

impl MicrosecondCounter for Timer {
    fn micros(&mut self) -> u32 {
        self.get_counter_low()
    }
}

impl Watchdog for hal::Watchdog {
    fn feed(&mut self) {
        hal::Watchdog::feed(self);
    }
}

/// Serial line 0: sent from here, received by [`Receiver`].
pub struct SerialLine {
    sender: Writer<pac::UART0, SerialPins>,
    receiver: Receiver,
}

impl ServiceLine for SerialLine {
    fn receive(&mut self) -> Option<u8> {
        self.receiver.take()
    }

    fn send(&mut self, byte: u8) -> Result<(), u8> {
        match self.sender.write_raw(&[byte]) {
            Ok(_) => Ok(()),
            Err(_) => Err(byte),
        }
    }
}

static ALARM: Mutex<RefCell<Option<(Alarm0, Instant)>>> = Mutex::new(RefCell::new(None));
static PASS_DUE: Mutex<Cell<bool>> = Mutex::new(Cell::new(false));

/// Sets the chip up. The relay is released before anything else happens.
///
/// `None` if this was done before, or the crystal or a clock does not start.
pub fn ports() -> Option<Ports<Pico>> {
    let mut chip = pac::Peripherals::take()?;
    let mut core = pac::CorePeripherals::take()?;
    let sio = Sio::new(chip.SIO);
    let pins = hal::gpio::Pins::new(
        chip.IO_BANK0,
        chip.PADS_BANK0,
        sio.gpio_bank0,
        &mut chip.RESETS,
    );
    let relay = pins
        .gpio15
        .into_push_pull_output_in_state(hal::gpio::PinState::Low);
    let start_cause = start_cause(&chip.WATCHDOG, &chip.VREG_AND_CHIP_RESET);

    let crystal = hal::xosc::setup_xosc_blocking(chip.XOSC, CRYSTAL_HZ.Hz()).ok()?;
    let mut watchdog = hal::Watchdog::new(chip.WATCHDOG);
    watchdog.enable_tick_generation((CRYSTAL_HZ / 1_000_000) as u8);
    watchdog.start(WATCHDOG_MICROS.micros());

    let mut clocks = ClocksManager::new(chip.CLOCKS);
    let fast = hal::pll::setup_pll_blocking(
        chip.PLL_USB,
        crystal.operating_frequency(),
        hal::pll::common_configs::PLL_USB_48MHZ,
        &mut clocks,
        &mut chip.RESETS,
    )
    .ok()?;
    let ring = hal::rosc::RingOscillator::new(chip.ROSC).initialize_with_freq(RING_HZ.Hz());
    use hal::Clock;
    clocks
        .reference_clock
        .configure_clock(&crystal, crystal.get_freq())
        .ok()?;
    clocks
        .system_clock
        .configure_clock(&ring, ring.get_freq())
        .ok()?;
    clocks
        .peripheral_clock
        .configure_clock(&crystal, crystal.get_freq())
        .ok()?;
    clocks
        .adc_clock
        .configure_clock(&fast, fast.get_freq())
        .ok()?;

    let mut timer = Timer::new(chip.TIMER, &mut chip.RESETS, &clocks);
    let mut alarm = timer.alarm_0()?;
    let mut nap = timer.alarm_1()?;
    nap.enable_interrupt();
    let begun = timer.get_counter();
    let first = begun + PASS_MICROS.micros();
    alarm.enable_interrupt();
    alarm.schedule_at(first).ok()?;

    let converter = Adc::new(chip.ADC, &mut chip.RESETS);
    let probe = Probe {
        converter,
        input: AdcPin::new(pins.gpio26.reconfigure()).ok()?,
    };

    let serial = UartPeripheral::new(
        chip.UART0,
        (pins.gpio0.reconfigure(), pins.gpio1.reconfigure()),
        &mut chip.RESETS,
    )
    .enable(
        UartConfig::new(115_200.Hz(), DataBits::Eight, None, StopBits::One),
        clocks.peripheral_clock.freq(),
    )
    .ok()?;
    let (_, sender) = serial.split();
    let receiver = Receiver::started(chip.DMA, &chip.RESETS);

    let bus = hal::I2C::new_controller(
        chip.I2C0,
        pins.gpio4.reconfigure(),
        pins.gpio5.reconfigure(),
        100.kHz(),
        &mut chip.RESETS,
        clocks.system_clock.freq(),
    );

    critical_section::with(|held| {
        ALARM.borrow(held).replace(Some((alarm, first)));
    });
    core.SYST
        .set_clock_source(cortex_m::peripheral::syst::SystClkSource::Core);
    core.SYST.set_reload(BEAT_CYCLES);
    core.SYST.clear_current();
    core.SYST.enable_interrupt();
    core.SYST.enable_counter();
    // SAFETY: what the handlers share is behind critical sections.
    unsafe {
        pac::NVIC::unmask(pac::Interrupt::TIMER_IRQ_0);
        pac::NVIC::unmask(pac::Interrupt::TIMER_IRQ_1);
        pac::NVIC::unmask(pac::Interrupt::IO_IRQ_BANK0);
    }

    Some(Ports {
        probe,
        relay,
        feedback: Some(LoadSideInput::started(pins.gpio14.reconfigure(), timer)),
        lock: pins.gpio13.reconfigure(),
        button: pins.gpio12.reconfigure(),
        light: pins.gpio16.reconfigure(),
        buzzer: pins.gpio17.reconfigure(),
        bus: PatientBus::new(bus),
        delay: Sleep { timer, alarm: nap },
        counter: timer,
        first_micros: begun.ticks() as u32,
        watchdog,
        service: SerialLine { sender, receiver },
        start_cause,
    })
}

fn start_cause(watchdog: &pac::WATCHDOG, supply: &pac::VREG_AND_CHIP_RESET) -> StartCause {
    if watchdog.reason().read().bits() != 0 {
        StartCause::Watchdog
    } else if supply.chip_reset().read().had_por().bit_is_set() {
        StartCause::Power
    } else {
        StartCause::ResetInput
    }
}

/// Sleeps until the next pass is due. Passes that were missed are not made up for.
#[inline(never)]
pub fn wait_for_pass() {
    loop {
        let due = critical_section::with(|held| {
            let due = PASS_DUE.borrow(held).replace(false);
            if !due {
                // Sleeping inside the section: an interrupt still wakes the
                // processor, and none is missed between the look and the sleep.
                cortex_m::asm::wfi();
            }
            due
        });
        if due {
            return;
        }
    }
}

/// Releases the relay, whoever owns its pin. For panics and faults.
pub fn release_relay() {
    // SAFETY: a write to the clear register touches the one bit it names.
    unsafe {
        (*pac::SIO::PTR)
            .gpio_out_clr()
            .write(|w| w.bits(RELAY_MASK));
    }
}

/// Releases the relay and waits for the watchdog.
pub fn stop() -> ! {
    cortex_m::interrupt::disable();
    loop {
        release_relay();
    }
}

#[interrupt]
fn TIMER_IRQ_0() {
    critical_section::with(|held| {
        PASS_DUE.borrow(held).set(true);
        if let Some((alarm, due)) = ALARM.borrow_ref_mut(held).as_mut() {
            alarm.clear_interrupt();
            *due += PASS_MICROS.micros();
            // Scheduling in the past fires at once, so this cannot fail.
            let _ = alarm.schedule_at(*due);
        }
    });
}

/// The contact feedback has fallen.
#[interrupt]
fn IO_IRQ_BANK0() {
    critical_section::with(|held| {
        // SAFETY: a write of one clears the one bit it names, and the section keeps apart the
        // look that enables the bit again. Reading the counter changes nothing.
        unsafe {
            let pins = &*pac::IO_BANK0::PTR;
            pins.intr(PINS_8_TO_15)
                .write_with_zero(|w| w.bits(FALL_MASK));
            let micros = (*pac::TIMER::PTR).timerawl().read().bits();
            let mut half_waves = HALF_WAVES.borrow(held).get();
            if half_waves.note(micros) == Noting::Pauses {
                pins.proc0_inte(PINS_8_TO_15)
                    .modify(|r, w| w.bits(r.bits() & !FALL_MASK));
            }
            HALF_WAVES.borrow(held).set(half_waves);
        }
    });
}

/// The end of a sleep; waking was all it had to do.
#[interrupt]
fn TIMER_IRQ_1() {
    // SAFETY: a write of one clears the one bit it names. The other alarm's handler, of
    // the same priority, does not come between reading and writing the second register.
    unsafe {
        let timer = &*pac::TIMER::PTR;
        timer.intr().write_with_zero(|w| w.bits(1 << 1));
        // Where the alarm was set into the past.
        timer.intf().modify(|_, w| w.alarm_1().clear_bit());
    }
}

/// The processor's own beat: does the crystal's time still run?
#[cortex_m_rt::exception]
fn SysTick() {
    static mut BEFORE: Option<u32> = None;
    // SAFETY: reading the counter changes nothing.
    let now = unsafe { (*pac::TIMER::PTR).timerawl().read().bits() };
    if *BEFORE == Some(now) {
        stop();
    }
    *BEFORE = Some(now);
}

#[cortex_m_rt::exception]
unsafe fn HardFault(_frame: &cortex_m_rt::ExceptionFrame) -> ! {
    stop()
}
