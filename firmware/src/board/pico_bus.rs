//! The RP2040's I2C controller, used so that nothing waits for ever.
//!
//! A chip that holds the clock line down would keep a plain driver waiting
//! until the watchdog bites, again and again. Here every byte has a limit.

use embedded_hal::i2c::{
    Error, ErrorKind, ErrorType, I2c, NoAcknowledgeSource, Operation, SevenBitAddress,
};
use rp2040_hal::i2c::{I2C, ValidPinScl, ValidPinSda};
use rp2040_hal::pac;

/// Looks at a status register before a byte counts as stuck.
///
/// A look takes about ten cycles and a byte at 100 kHz about 600.
const MOST_LOOKS: u32 = 2_000;

/// Bit of IC_TX_ABRT_SOURCE: nothing answered the address.
const ADDRESS_UNANSWERED: u32 = 1 << 0;
/// Bit of IC_TX_ABRT_SOURCE: a data byte was refused.
const DATA_REFUSED: u32 = 1 << 3;

/// Why a transaction failed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BusError {
    /// The address or a data byte was not acknowledged.
    Unanswered(NoAcknowledgeSource),
    /// A byte took too long, or the controller gave up for another reason.
    Stuck,
}

impl Error for BusError {
    fn kind(&self) -> ErrorKind {
        match self {
            Self::Unanswered(source) => ErrorKind::NoAcknowledge(*source),
            Self::Stuck => ErrorKind::Bus,
        }
    }
}

/// I2C controller 0 with its pins, already set up by the chip's library.
pub struct PatientBus<Sda, Scl> {
    _set_up: I2C<pac::I2C0, (Sda, Scl)>,
}

impl<Sda: ValidPinSda<pac::I2C0>, Scl: ValidPinScl<pac::I2C0>> PatientBus<Sda, Scl> {
    /// Takes over a controller that is set up.
    pub const fn new(set_up: I2C<pac::I2C0, (Sda, Scl)>) -> Self {
        Self { _set_up: set_up }
    }

    fn registers(&self) -> &pac::i2c0::RegisterBlock {
        // SAFETY: this object owns the controller.
        unsafe { &*pac::I2C0::PTR }
    }

    /// Looks until `ready`, for a while.
    fn wait(&self, ready: impl Fn(&pac::i2c0::RegisterBlock) -> bool) -> Result<(), BusError> {
        let i2c = self.registers();
        for _ in 0..MOST_LOOKS {
            let abort = i2c.ic_tx_abrt_source().read().bits();
            if abort != 0 {
                i2c.ic_clr_tx_abrt().read();
                return Err(match abort {
                    source if source & ADDRESS_UNANSWERED != 0 => {
                        BusError::Unanswered(NoAcknowledgeSource::Address)
                    }
                    source if source & DATA_REFUSED != 0 => {
                        BusError::Unanswered(NoAcknowledgeSource::Data)
                    }
                    _ => BusError::Stuck,
                });
            }
            if ready(i2c) {
                return Ok(());
            }
        }
        Err(BusError::Stuck)
    }

    /// Takes the controller back from a transaction that cannot end.
    fn give_up(&self) {
        let i2c = self.registers();
        i2c.ic_enable().modify(|_, w| w.abort().set_bit());
        for _ in 0..MOST_LOOKS {
            if i2c.ic_enable().read().abort().bit_is_clear() {
                break;
            }
        }
        i2c.ic_enable().write(|w| w.enable().disabled());
        i2c.ic_clr_tx_abrt().read();
        i2c.ic_enable().write(|w| w.enable().enabled());
    }

    fn carry_out(&self, operations: &mut [Operation<'_>]) -> Result<(), BusError> {
        let i2c = self.registers();
        let last_operation = operations.len().wrapping_sub(1);
        for (index, operation) in operations.iter_mut().enumerate() {
            let length = match operation {
                Operation::Read(into) => into.len(),
                Operation::Write(bytes) => bytes.len(),
            };
            for place in 0..length {
                let again = index > 0 && place == 0;
                let stop = index == last_operation && place + 1 == length;
                self.wait(|i2c| i2c.ic_status().read().tfnf().bit_is_set())?;
                match operation {
                    Operation::Write(bytes) => {
                        i2c.ic_data_cmd().write(|w| {
                            w.restart().bit(again).stop().bit(stop);
                            // SAFETY: any byte may be sent.
                            unsafe { w.dat().bits(bytes[place]) }
                        });
                        self.wait(|i2c| i2c.ic_status().read().tfe().bit_is_set())?;
                    }
                    Operation::Read(into) => {
                        i2c.ic_data_cmd()
                            .write(|w| w.restart().bit(again).stop().bit(stop).cmd().read());
                        self.wait(|i2c| i2c.ic_status().read().rfne().bit_is_set())?;
                        into[place] = i2c.ic_data_cmd().read().dat().bits();
                    }
                }
            }
        }
        self.wait(|i2c| i2c.ic_raw_intr_stat().read().stop_det().is_active())
    }
}

impl<Sda, Scl> ErrorType for PatientBus<Sda, Scl> {
    type Error = BusError;
}

impl<Sda: ValidPinSda<pac::I2C0>, Scl: ValidPinScl<pac::I2C0>> I2c for PatientBus<Sda, Scl> {
    fn transaction(
        &mut self,
        address: SevenBitAddress,
        operations: &mut [Operation<'_>],
    ) -> Result<(), BusError> {
        let i2c = self.registers();
        i2c.ic_enable().write(|w| w.enable().disabled());
        // SAFETY: seven bits fit the register.
        i2c.ic_tar()
            .write(|w| unsafe { w.ic_tar().bits(address.into()) });
        i2c.ic_enable().write(|w| w.enable().enabled());
        i2c.ic_clr_stop_det().read();
        let done = self.carry_out(operations);
        if done == Err(BusError::Stuck) {
            self.give_up();
        }
        done
    }
}
