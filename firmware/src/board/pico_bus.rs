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
/// A look takes about ten cycles, a byte at 100 kHz about 600, and sixteen bytes
/// may wait in the controller.
const MOST_LOOKS: u32 = 4_000;

/// Bit of IC_TX_ABRT_SOURCE: nothing answered the address.
const ADDRESS_UNANSWERED: u32 = 1 << 0;
/// Bit of IC_TX_ABRT_SOURCE: a data byte was refused.
const DATA_REFUSED: u32 = 1 << 3;

/// Bits of IC_STATUS: the controller takes another order; it has a byte.
const NOT_FULL: u32 = 1 << 1;
const NOT_EMPTY: u32 = 1 << 3;
/// Bits of IC_DATA_CMD: ask for a byte; a stop after it; a restart before it.
const READ: u32 = 1 << 8;
const STOP: u32 = 1 << 9;
const RESTART: u32 = 1 << 10;

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

    /// Why the controller gave the transaction up, if it did.
    fn given_up(&self) -> Result<(), BusError> {
        let i2c = self.registers();
        let abort = i2c.ic_tx_abrt_source().read().bits();
        if abort == 0 {
            return Ok(());
        }
        i2c.ic_clr_tx_abrt().read();
        Err(match abort {
            source if source & ADDRESS_UNANSWERED != 0 => {
                BusError::Unanswered(NoAcknowledgeSource::Address)
            }
            source if source & DATA_REFUSED != 0 => BusError::Unanswered(NoAcknowledgeSource::Data),
            _ => BusError::Stuck,
        })
    }

    /// Looks until the status shows `bit`, for a while.
    #[inline(always)]
    fn wait(&self, bit: u32) -> Result<(), BusError> {
        for _ in 0..MOST_LOOKS {
            if self.registers().ic_status().read().bits() & bit != 0 {
                return Ok(());
            }
            self.given_up()?;
        }
        Err(BusError::Stuck)
    }

    /// Looks until the controller has ended the transaction, for a while.
    fn wait_for_end(&self) -> Result<(), BusError> {
        for _ in 0..MOST_LOOKS {
            self.given_up()?;
            let raised = self.registers().ic_raw_intr_stat().read();
            if raised.stop_det().is_active() {
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
        let last_operation = operations.len().wrapping_sub(1);
        for (index, operation) in operations.iter_mut().enumerate() {
            let first = if index > 0 { RESTART } else { 0 };
            let last = if index == last_operation { STOP } else { 0 };
            match operation {
                Operation::Write(bytes) => self.write(bytes, first, last)?,
                Operation::Read(into) => self.read(into, first, last)?,
            }
        }
        self.wait_for_end()
    }

    /// Hands bytes to the controller; `first` and `last` go with the first and the last.
    #[inline(never)]
    fn write(&self, bytes: &[u8], first: u32, last: u32) -> Result<(), BusError> {
        let Some((end, body)) = bytes.split_last() else {
            return Ok(());
        };
        let mut with = first;
        for byte in body {
            self.wait(NOT_FULL)?;
            self.order(u32::from(*byte) | with);
            with = 0;
        }
        self.wait(NOT_FULL)?;
        self.order(u32::from(*end) | with | last);
        Ok(())
    }

    /// Takes bytes from the controller, each of which has to be asked for. While none
    /// is on its way there is room for the next order.
    #[inline(never)]
    fn read(&self, into: &mut [u8], first: u32, last: u32) -> Result<(), BusError> {
        let Some((end, body)) = into.split_last_mut() else {
            return Ok(());
        };
        self.wait(NOT_FULL)?;
        let mut with = READ | first;
        for byte in body {
            self.order(with);
            self.wait(NOT_EMPTY)?;
            *byte = self.registers().ic_data_cmd().read().dat().bits();
            with = READ;
        }
        self.order(with | last);
        self.wait(NOT_EMPTY)?;
        *end = self.registers().ic_data_cmd().read().dat().bits();
        Ok(())
    }

    fn order(&self, order: u32) {
        // SAFETY: any byte may be sent, and any be asked for.
        self.registers()
            .ic_data_cmd()
            .write(|w| unsafe { w.bits(order) });
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
