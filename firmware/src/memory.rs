//! A memory of the 24C256 kind: 32 KiB in pages of 64 bytes, on an I2C bus.
//!
//! After a write the chip does not answer for some milliseconds. A chip that
//! stays silent, or a bus that is stuck, is told as such; nothing waits for ever.

use eeprom24x::{Eeprom24x, SlaveAddr, addr_size::TwoBytes, page_size::B64, unique_serial::No};
use embedded_hal::delay::DelayNs;
use embedded_hal::i2c::{ErrorKind, I2c};
use heapless::Vec;

/// Bytes that the chip writes in one go.
pub const PAGE: usize = 64;

/// The longest record.
pub const LONGEST_RECORD: usize = 3 * PAGE;

/// The bytes of a record.
pub type Record = Vec<u8, LONGEST_RECORD>;

/// How often the chip is asked in vain before it counts as silent: [`WRITING_MS`]
/// apart where something waits for it, a pass apart where nothing does.
pub const ATTEMPTS: u32 = 10;

/// Chips of this kind promise to answer so soon after a write (common practice).
pub const WRITING_MS: u32 = 5;

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
    /// It answers, but what it held is gone, and a lockout may have been among it.
    Lost,
}

impl MemoryError {
    /// What is wrong, in words.
    #[must_use]
    pub const fn text(self) -> &'static str {
        match self {
            Self::Silent => "silent",
            Self::Bus => "not reachable",
            Self::Mismatch => "worn",
            Self::Lost => "without its last records",
        }
    }
}

/// The memory chip, read with patience and written step by step.
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

    /// Reads from `address` on until `into` is full. Nothing is asked for no bytes: a
    /// controller refuses that.
    ///
    /// # Errors
    ///
    /// [`MemoryError::Silent`] or [`MemoryError::Bus`].
    pub fn read(&mut self, address: u16, into: &mut [u8]) -> Result<(), MemoryError> {
        if into.is_empty() {
            return Ok(());
        }
        for _ in 0..ATTEMPTS {
            match self.chip.read_data(u32::from(address), into) {
                Ok(()) => return Ok(()),
                Err(error) if is_silence(&error) => self.delay.delay_ms(WRITING_MS),
                Err(_) => return Err(MemoryError::Bus),
            }
        }
        Err(MemoryError::Silent)
    }

    /// Whether the chip answers now, without patience.
    ///
    /// # Errors
    ///
    /// [`MemoryError::Silent`] or [`MemoryError::Bus`].
    pub fn answers(&mut self) -> Result<(), MemoryError> {
        match self.chip.read_byte(0) {
            Ok(_) => Ok(()),
            Err(error) if is_silence(&error) => Err(MemoryError::Silent),
            Err(_) => Err(MemoryError::Bus),
        }
    }

    /// Waits without asking the chip anything.
    pub fn wait_micros(&mut self, micros: u32) {
        self.delay.delay_ns(micros.saturating_mul(1_000));
    }

    /// Takes one step with `record`: writes a page, or reads one back. Never waits.
    ///
    /// All pages are written before the first is read back. One that does not read
    /// back is written a second time. A chip that is busy is asked again by the next
    /// step.
    ///
    /// # Errors
    ///
    /// Any [`MemoryError`]; pages before the failing one have been written.
    pub fn advance(&mut self, record: &mut Outgoing) -> Result<Progress, MemoryError> {
        let (at, part) = record.page();
        let length = part.len();
        let asked = match record.stage {
            Stage::Write | Stage::WriteAgain => self
                .chip
                .write_page(u32::from(at), part)
                .map(|()| PageHolds::NotKnown),
            Stage::ReadBack | Stage::ReadBackAgain => {
                let mut back = [0; PAGE];
                let back = &mut back[..length];
                self.chip.read_data(u32::from(at), back).map(|()| {
                    if back == part {
                        PageHolds::Yes
                    } else {
                        PageHolds::No
                    }
                })
            }
        };
        let holds = match asked {
            Ok(holds) => holds,
            Err(error) if is_silence(&error) => return record.met_silence(),
            Err(_) => return Err(MemoryError::Bus),
        };
        record.silences = 0;
        match (record.stage, holds) {
            (Stage::Write, _) => {
                record.done += length;
                if record.done == record.bytes.len() {
                    record.done = 0;
                    record.stage = Stage::ReadBack;
                }
            }
            (Stage::WriteAgain, _) => record.stage = Stage::ReadBackAgain,
            (Stage::ReadBack, PageHolds::No | PageHolds::NotKnown) => {
                record.stage = Stage::WriteAgain;
            }
            (Stage::ReadBackAgain, PageHolds::No | PageHolds::NotKnown) => {
                return Err(MemoryError::Mismatch);
            }
            (Stage::ReadBack | Stage::ReadBackAgain, PageHolds::Yes) => {
                record.done += length;
                record.stage = Stage::ReadBack;
            }
        }
        Ok(match record.stage {
            Stage::ReadBack if record.done == record.bytes.len() => Progress::Done,
            Stage::Write | Stage::ReadBack | Stage::WriteAgain | Stage::ReadBackAgain => {
                Progress::Underway
            }
        })
    }

    /// Takes the steps that write the pages of `record`, and waits for the chip until the
    /// last of them is done: a loss of power can't undo it then. Reading them back is left
    /// to [`Memory::advance`].
    ///
    /// # Errors
    ///
    /// Those of [`Memory::advance`].
    pub fn write_at_once(&mut self, record: &mut Outgoing) -> Result<(), MemoryError> {
        while record.stage == Stage::Write {
            self.advance(record)?;
            self.delay.delay_ms(WRITING_MS);
        }
        // A chip that is still writing does not answer.
        self.read(record.address, &mut [0])
    }
}

fn is_silence<E: embedded_hal::i2c::Error>(error: &eeprom24x::Error<E>) -> bool {
    match error {
        eeprom24x::Error::I2C(error) => matches!(error.kind(), ErrorKind::NoAcknowledge(_)),
        eeprom24x::Error::InvalidAddr | eeprom24x::Error::TooMuchData => false,
    }
}

/// A record on its way into the memory, a step at a time.
#[derive(Debug)]
pub struct Outgoing {
    address: u16,
    bytes: Record,
    done: usize,
    stage: Stage,
    silences: u32,
}

/// What the page in hand waits for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stage {
    Write,
    ReadBack,
    WriteAgain,
    ReadBackAgain,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum PageHolds {
    Yes,
    No,
    NotKnown,
}

/// How far a step has brought a record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Progress {
    /// All of it was written and read back.
    Done,
    /// There is more to do.
    Underway,
    /// The chip did not answer; it may still be writing.
    Busy,
}

impl Outgoing {
    /// No record at all.
    #[must_use]
    pub const fn nothing() -> Self {
        Self {
            address: 0,
            bytes: Record::new(),
            done: 0,
            stage: Stage::Write,
            silences: 0,
        }
    }

    /// Begins anew with a record for `address`; what was under way is left torn.
    /// The caller fills in the bytes, which are none at first.
    pub fn begin(&mut self, address: u16) -> &mut Record {
        self.address = address;
        self.done = 0;
        self.stage = Stage::Write;
        self.silences = 0;
        self.bytes.clear();
        &mut self.bytes
    }

    /// The page in hand, or what of it belongs to the record, and its address.
    fn page(&self) -> (u16, &[u8]) {
        // A record is at most some pages long.
        let at = self.address + self.done as u16;
        let room = PAGE - usize::from(at) % PAGE;
        let rest = &self.bytes[self.done..];
        (at, &rest[..room.min(rest.len())])
    }

    fn met_silence(&mut self) -> Result<Progress, MemoryError> {
        self.silences += 1;
        if self.silences < ATTEMPTS {
            Ok(Progress::Busy)
        } else {
            Err(MemoryError::Silent)
        }
    }
}

#[cfg(test)]
impl<I: I2c, D: DelayNs> Memory<I, D> {
    /// Takes every step that is left with `record`, as the passes of a board would.
    pub(crate) fn finish(&mut self, record: &mut Outgoing) -> Result<(), MemoryError> {
        while self.advance(record)? != Progress::Done {}
        Ok(())
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

    fn write(
        memory: &mut Memory<Mock, NoopDelay>,
        at: u16,
        data: &[u8],
    ) -> Result<(), MemoryError> {
        let mut record = Outgoing::nothing();
        record.begin(at).extend_from_slice(data).unwrap();
        memory.finish(&mut record)
    }

    #[test]
    fn a_write_stops_at_the_end_of_a_page_and_is_read_back() {
        let script = [
            written(0x103e, &[1, 2]),
            written(0x1040, &[3]),
            read(0x103e, &[1, 2]),
            read(0x1040, &[3]),
        ];
        assert_eq!(
            with_memory(&script, |m| write(m, 0x103e, &[1, 2, 3])),
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
        assert_eq!(with_memory(&script, |m| write(m, 0, &[7])), Ok(()));
    }

    #[test]
    fn what_does_not_read_back_is_written_once_more() {
        let script = [
            written(0, &[7]),
            read(0, &[5]),
            written(0, &[7]),
            read(0, &[7]),
        ];
        assert_eq!(with_memory(&script, |m| write(m, 0, &[7])), Ok(()));
        let script = [
            written(0, &[7]),
            read(0, &[5]),
            written(0, &[7]),
            read(0, &[5]),
        ];
        assert_eq!(
            with_memory(&script, |m| write(m, 0, &[7])),
            Err(MemoryError::Mismatch)
        );
    }

    #[test]
    fn a_step_is_one_transaction_and_a_busy_chip_is_left_alone() {
        let script = [
            written(0x1030, &[9; 16]),
            written(0x1040, &[9; 4]).with_error(NACK),
            written(0x1040, &[9; 4]),
            read(0x1030, &[9; 16]).with_error(NACK),
            read(0x1030, &[9; 16]),
            read(0x1040, &[9; 4]),
        ];
        let mut record = Outgoing::nothing();
        record.begin(0x1030).extend_from_slice(&[9; 20]).unwrap();
        let steps = with_memory(&script, |m| [(); 6].map(|()| m.advance(&mut record)));
        use Progress::{Busy, Done, Underway};
        assert_eq!(
            steps,
            [Underway, Busy, Underway, Busy, Underway, Done].map(Ok)
        );
    }

    #[test]
    fn what_is_written_at_once_is_read_back_later() {
        let script = [
            written(0x1030, &[9; 16]),
            written(0x1040, &[9; 4]).with_error(NACK),
            written(0x1040, &[9; 4]),
            // Not before the chip answers again is its last page safe.
            read(0x1030, &[9]).with_error(NACK),
            read(0x1030, &[9]).with_error(NACK),
            read(0x1030, &[9]),
        ];
        let mut record = Outgoing::nothing();
        record.begin(0x1030).extend_from_slice(&[9; 20]).unwrap();
        with_memory(&script, |m| m.write_at_once(&mut record)).unwrap();
        let script = [
            read(0x1030, &[8; 16]),
            written(0x1030, &[9; 16]),
            read(0x1030, &[9; 16]),
            read(0x1040, &[9; 4]),
        ];
        assert_eq!(with_memory(&script, |m| m.finish(&mut record)), Ok(()));
    }

    #[test]
    fn silence_ends_after_ten_attempts_and_a_stuck_bus_at_once() {
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
