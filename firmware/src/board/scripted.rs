//! A board of which every part is scripted: for a host, and for a processor
//! without its peripherals.
//!
//! The script lies in a [`Bench`]; the parts look there and leave their marks there.

use core::cell::{Cell, RefCell};
use core::convert::Infallible;

use embedded_hal::delay::DelayNs;
use embedded_hal::digital::{self, InputPin, OutputPin};
use embedded_hal::i2c::{self, I2c, NoAcknowledgeSource, Operation, SevenBitAddress};

use crate::memory::PAGE;
use crate::ports::{
    Board, ContactFeedback, Converter, LoadSide, MicrosecondCounter, Ports, ServiceLine,
    StartCause, Watchdog,
};

/// Bytes of the memory chip.
const CELLS: usize = 32_768;

/// A pass is due this often.
const PASS_MICROS: u32 = 100_000;

/// What the parts see, and what they did.
pub struct Bench {
    /// Sixteen conversions add up to this.
    pub sum: Cell<u16>,
    /// The counter of microseconds. Waiting moves it on.
    pub micros: Cell<u32>,
    /// How long a look at an input takes, in microseconds.
    pub look_micros: Cell<u32>,
    /// What the contact feedback shows, on a board that starts with one.
    pub load_side: Cell<Option<LoadSide>>,
    /// Whether the lock's jumper is fitted.
    pub jumper_fitted: Cell<bool>,
    /// Whether the reset button is held.
    pub button_held: Cell<bool>,
    /// Whether the relay's pin can be driven.
    pub relay_works: Cell<bool>,
    /// Whether the relay's coil has current.
    pub relay_driven: Cell<bool>,
    /// What the counter stood at when that last changed.
    pub relay_moved_at: Cell<u32>,
    /// How often the watchdog was fed.
    pub feeds: Cell<u32>,
    /// Whether the memory chip answers.
    pub memory_answers: Cell<bool>,
    /// The address from which on it can't be read.
    pub unreadable_from: Cell<usize>,
    due: Cell<u32>,
    conversion: Cell<u8>,
    cells: RefCell<[u8; CELLS]>,
}

impl Default for Bench {
    fn default() -> Self {
        Self::new()
    }
}

impl Bench {
    /// A board that has never had power: an empty memory, nothing fitted, nothing held.
    #[must_use]
    pub const fn new() -> Self {
        Self {
            sum: Cell::new(0),
            micros: Cell::new(0),
            look_micros: Cell::new(0),
            load_side: Cell::new(None),
            jumper_fitted: Cell::new(false),
            button_held: Cell::new(false),
            relay_works: Cell::new(true),
            relay_driven: Cell::new(false),
            relay_moved_at: Cell::new(0),
            feeds: Cell::new(0),
            memory_answers: Cell::new(true),
            unreadable_from: Cell::new(CELLS),
            due: Cell::new(0),
            conversion: Cell::new(0),
            cells: RefCell::new([0xff; CELLS]),
        }
    }

    /// Puts `bytes` into the memory chip from `address` on.
    pub fn load(&self, address: u16, bytes: &[u8]) {
        let start = usize::from(address);
        if let Some(cells) = self.cells.borrow_mut().get_mut(start..start + bytes.len()) {
            cells.copy_from_slice(bytes);
        }
    }

    /// Lets the time go on to the next pass, a tenth of a second after the last one.
    pub fn await_pass(&self) {
        self.due.set(self.due.get().wrapping_add(PASS_MICROS));
        self.micros.set(self.due.get());
    }

    fn let_pass(&self, micros: u32) {
        self.micros.set(self.micros.get().wrapping_add(micros));
    }

    /// The ports of a board at power-up.
    pub fn ports(&self) -> Ports<Scripted<'_>> {
        Ports {
            probe: Probe(self),
            relay: Coil(self),
            feedback: self.load_side.get().map(|_| Watch(self)),
            lock: Level(self, &self.jumper_fitted),
            button: Level(self, &self.button_held),
            light: Nothing,
            buzzer: Nothing,
            bus: Bus(self),
            delay: Wait(self),
            counter: Counter(self),
            first_micros: self.micros.get(),
            watchdog: Dog(self),
            service: Nothing,
            start_cause: StartCause::Power,
        }
    }
}

/// The parts of this board.
pub struct Scripted<'b>(core::marker::PhantomData<&'b Bench>);

impl<'b> Board for Scripted<'b> {
    type Probe = Probe<'b>;
    type Relay = Coil<'b>;
    type Feedback = Watch<'b>;
    type Lock = Level<'b>;
    type Button = Level<'b>;
    type Light = Nothing;
    type Buzzer = Nothing;
    type Bus = Bus<'b>;
    type Delay = Wait<'b>;
    type Counter = Counter<'b>;
    type Watchdog = Dog<'b>;
    type Service = Nothing;
}

/// A converter whose sixteen conversions add up to the script's sum.
pub struct Probe<'b>(&'b Bench);

impl Converter for Probe<'_> {
    fn convert(&mut self) -> Option<u16> {
        let taken = self.0.conversion.get();
        self.0.conversion.set((taken + 1) % 16);
        let sum = self.0.sum.get();
        Some(sum / 16 + u16::from(u16::from(taken) < sum % 16))
    }
}

/// The relay's coil, whose pin may fail.
pub struct Coil<'b>(&'b Bench);

/// A pin that cannot be driven.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PinFailed;

impl digital::Error for PinFailed {
    fn kind(&self) -> digital::ErrorKind {
        digital::ErrorKind::Other
    }
}

impl digital::ErrorType for Coil<'_> {
    type Error = PinFailed;
}

impl Coil<'_> {
    fn drive(&self, driven: bool) -> Result<(), PinFailed> {
        if !self.0.relay_works.get() {
            return Err(PinFailed);
        }
        if self.0.relay_driven.replace(driven) != driven {
            self.0.relay_moved_at.set(self.0.micros.get());
        }
        Ok(())
    }
}

impl OutputPin for Coil<'_> {
    fn set_low(&mut self) -> Result<(), PinFailed> {
        self.drive(false)
    }
    fn set_high(&mut self) -> Result<(), PinFailed> {
        self.drive(true)
    }
}

/// A contact feedback that shows what the script says.
pub struct Watch<'b>(&'b Bench);

impl ContactFeedback for Watch<'_> {
    fn look(&mut self) -> LoadSide {
        self.0.load_side.get().unwrap_or(LoadSide::Unknown)
    }
}

/// An input that is low while its cell is true.
pub struct Level<'b>(&'b Bench, &'b Cell<bool>);

impl digital::ErrorType for Level<'_> {
    type Error = Infallible;
}

impl InputPin for Level<'_> {
    fn is_high(&mut self) -> Result<bool, Infallible> {
        self.is_low().map(|low| !low)
    }
    fn is_low(&mut self) -> Result<bool, Infallible> {
        self.0.let_pass(self.0.look_micros.get());
        Ok(self.1.get())
    }
}

/// A wait, which the script's time makes true at once.
pub struct Wait<'b>(&'b Bench);

impl DelayNs for Wait<'_> {
    fn delay_ns(&mut self, ns: u32) {
        self.0.let_pass(ns.div_ceil(1_000));
    }
}

/// A part that does nothing and takes no time.
pub struct Nothing;

impl digital::ErrorType for Nothing {
    type Error = Infallible;
}

impl OutputPin for Nothing {
    fn set_low(&mut self) -> Result<(), Infallible> {
        Ok(())
    }
    fn set_high(&mut self) -> Result<(), Infallible> {
        Ok(())
    }
}

impl ServiceLine for Nothing {
    fn receive(&mut self) -> Option<u8> {
        None
    }
    fn send(&mut self, _byte: u8) -> Result<(), u8> {
        Ok(())
    }
}

/// The script's time.
pub struct Counter<'b>(&'b Bench);

impl MicrosecondCounter for Counter<'_> {
    fn micros(&mut self) -> u32 {
        self.0.micros.get()
    }
}

/// A watchdog that counts its meals.
pub struct Dog<'b>(&'b Bench);

impl Watchdog for Dog<'_> {
    fn feed(&mut self) {
        self.0.feeds.set(self.0.feeds.get().wrapping_add(1));
    }
}

/// A bus with a memory chip on it that is never busy.
pub struct Bus<'b>(&'b Bench);

impl i2c::ErrorType for Bus<'_> {
    type Error = i2c::ErrorKind;
}

impl I2c for Bus<'_> {
    fn transaction(
        &mut self,
        _address: SevenBitAddress,
        operations: &mut [Operation<'_>],
    ) -> Result<(), i2c::ErrorKind> {
        if !self.0.memory_answers.get() {
            return Err(i2c::ErrorKind::NoAcknowledge(NoAcknowledgeSource::Address));
        }
        let mut cells = self.0.cells.borrow_mut();
        let mut at = 0;
        for operation in operations {
            match operation {
                Operation::Write([high, low, data @ ..]) => {
                    at = usize::from(u16::from_be_bytes([*high, *low])) % CELLS;
                    for value in data {
                        cells[at] = *value;
                        at = at / PAGE * PAGE + (at + 1) % PAGE;
                    }
                }
                Operation::Write(_) => return Err(i2c::ErrorKind::Other),
                Operation::Read(_) if at >= self.0.unreadable_from.get() => {
                    return Err(i2c::ErrorKind::Bus);
                }
                Operation::Read(into) => {
                    for value in into.iter_mut() {
                        *value = cells[at];
                        at = (at + 1) % CELLS;
                    }
                }
            }
        }
        Ok(())
    }
}
