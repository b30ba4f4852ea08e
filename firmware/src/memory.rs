//! A memory of the 24C256 kind: 32 KiB in pages of 64 bytes, on an I2C bus.
//!
//! After a write the chip does not answer for some milliseconds. A chip that
//! stays silent, or a bus that is stuck, is told as such; nothing waits for ever.

use eeprom24x::{Eeprom24x, SlaveAddr, addr_size::TwoBytes, page_size::B64, unique_serial::No};
use embedded_hal::delay::DelayNs;
use embedded_hal::i2c::{Error as _, ErrorKind, I2c};

/// Bytes that the chip writes in one go.
pub const PAGE: usize = 64;

/// How often the chip is asked again, a millisecond apart, before it counts as silent.
///
/// Chips of this kind promise to answer within 5 ms after a write (common practice).
pub const ATTEMPTS: u32 = 20;

/// Why the memory could not do what it was asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[cfg_attr(all(feature = "log", target_os = "none"), derive(defmt::Format))]
pub enum MemoryError {
    /// Nothing answers at the chip's address.
    Silent,
    /// The bus is stuck or disturbed.
    Bus,
    /// What was read back is not what was written, twice.
    Mismatch,
}

impl MemoryError {
    /// What is wrong, in words.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Silent => "silent",
            Self::Bus => "not reachable",
            Self::Mismatch => "worn",
        }
    }
}

/// The memory chip, with its answers awaited and its writes read back.
pub struct Memory<I, D> {
    chip: Eeprom24x<I, B64, TwoBytes, No>,
    delay: D,
}

impl<I: I2c, D: DelayNs> Memory<I, D> {
    /// The chip at the bus address that all address inputs low give it.
    pub fn new(bus: I, delay: D) -> Self {
        Self {
            chip: Eeprom24x::new_24x256(bus, SlaveAddr::Default),
            delay,
        }
    }

    /// Reads from `address` on until `into` is full.
    ///
    /// # Errors
    ///
    /// [`MemoryError::Silent`] or [`MemoryError::Bus`].
    pub fn read(&mut self, address: u16, into: &mut [u8]) -> Result<(), MemoryError> {
        self.patiently(|chip| chip.read_data(u32::from(address), into))
    }

    /// Writes `data` from `address` on, page by page, and reads every page back.
    ///
    /// A page that does not read back is written a second time.
    ///
    /// # Errors
    ///
    /// Any [`MemoryError`]; pages before the failing one have been written.
    pub fn write(&mut self, address: u16, data: &[u8]) -> Result<(), MemoryError> {
        let mut at = address;
        let mut rest = data;
        while !rest.is_empty() {
            let room = PAGE - usize::from(at) % PAGE;
            let (part, after) = rest.split_at(room.min(rest.len()));
            if !self.page_holds(at, part)? && !self.page_holds(at, part)? {
                return Err(MemoryError::Mismatch);
            }
            // A part is at most a page long.
            at = at.wrapping_add(part.len() as u16);
            rest = after;
        }
        Ok(())
    }

    /// Writes `part` within one page and tells whether it reads back.
    fn page_holds(&mut self, at: u16, part: &[u8]) -> Result<bool, MemoryError> {
        self.patiently(|chip| chip.write_page(u32::from(at), part))?;
        let mut back = [0; PAGE];
        let back = &mut back[..part.len()];
        self.read(at, back)?;
        Ok(back == part)
    }

    fn patiently(
        &mut self,
        mut ask: impl FnMut(
            &mut Eeprom24x<I, B64, TwoBytes, No>,
        ) -> Result<(), eeprom24x::Error<I::Error>>,
    ) -> Result<(), MemoryError> {
        for _ in 0..ATTEMPTS {
            match ask(&mut self.chip) {
                Ok(()) => return Ok(()),
                Err(eeprom24x::Error::I2C(error))
                    if matches!(error.kind(), ErrorKind::NoAcknowledge(_)) =>
                {
                    self.delay.delay_ms(1);
                }
                Err(_) => return Err(MemoryError::Bus),
            }
        }
        Err(MemoryError::Silent)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use embedded_hal::i2c::NoAcknowledgeSource;
    use embedded_hal_mock::eh1::delay::NoopDelay;
    use embedded_hal_mock::eh1::i2c::{Mock, Transaction};

    const NACK: ErrorKind = ErrorKind::NoAcknowledge(NoAcknowledgeSource::Address);

    fn written(address: u16, data: &[u8]) -> Transaction {
        let mut bytes = address.to_be_bytes().to_vec();
        bytes.extend(data);
        Transaction::write(0x50, bytes)
    }

    fn read(address: u16, data: &[u8]) -> Transaction {
        Transaction::write_read(0x50, address.to_be_bytes().to_vec(), data.to_vec())
    }

    fn with_memory<T>(
        script: &[Transaction],
        act: impl FnOnce(&mut Memory<Mock, NoopDelay>) -> T,
    ) -> T {
        let mut bus = Mock::new(script);
        let answer = act(&mut Memory::new(bus.clone(), NoopDelay));
        bus.done();
        answer
    }

    #[test]
    fn a_write_stops_at_the_end_of_a_page_and_is_read_back() {
        let script = [
            written(0x103e, &[1, 2]),
            read(0x103e, &[1, 2]),
            written(0x1040, &[3]),
            read(0x1040, &[3]),
        ];
        assert_eq!(
            with_memory(&script, |m| m.write(0x103e, &[1, 2, 3])),
            Ok(())
        );
    }

    #[test]
    fn a_busy_chip_is_waited_for() {
        let script = [
            written(0, &[7]),
            read(0, &[0]).with_error(NACK),
            read(0, &[0]).with_error(NACK),
            read(0, &[7]),
        ];
        assert_eq!(with_memory(&script, |m| m.write(0, &[7])), Ok(()));
    }

    #[test]
    fn what_does_not_read_back_is_written_once_more() {
        let script = [
            written(0, &[7]),
            read(0, &[5]),
            written(0, &[7]),
            read(0, &[7]),
        ];
        assert_eq!(with_memory(&script, |m| m.write(0, &[7])), Ok(()));
        let script = [
            written(0, &[7]),
            read(0, &[5]),
            written(0, &[7]),
            read(0, &[5]),
        ];
        assert_eq!(
            with_memory(&script, |m| m.write(0, &[7])),
            Err(MemoryError::Mismatch)
        );
    }

    #[test]
    fn silence_ends_after_twenty_attempts_and_a_stuck_bus_at_once() {
        let script = vec![read(0, &[0]).with_error(NACK); ATTEMPTS as usize];
        assert_eq!(
            with_memory(&script, |m| m.read(0, &mut [0])),
            Err(MemoryError::Silent)
        );
        let script = [read(0, &[0]).with_error(ErrorKind::Bus)];
        assert_eq!(
            with_memory(&script, |m| m.read(0, &mut [0])),
            Err(MemoryError::Bus)
        );
    }
}

#[cfg(test)]
pub(crate) mod fake;
