//! What must survive a loss of power besides the settings: a lockout, the
//! counters, and the starts of the last hour.
//!
//! A ring of records wears the memory evenly. Each record fills two pages and
//! carries a sequence number and a CRC; the newest whole one counts. How often
//! a record may be written is bounded by an [`Allowance`].

use embedded_hal::delay::DelayNs;
use embedded_hal::i2c::I2c;
use heapless::Vec;
use hysteron_logic::checksum::{checksum, checksum_of_both};
use hysteron_logic::time::{Duration, Instant};

use crate::memory::{Memory, MemoryError, Outgoing, PAGE, Record};

/// Where the ring begins.
pub const START: u16 = 0x1000;

/// Records in the ring.
pub const RECORDS: u16 = 64;

/// Bytes in a record.
pub const RECORD: usize = 2 * PAGE;

/// The longest payload.
pub const LONGEST: usize = RECORD - HEADER - CHECK;

const HEADER: usize = 5;
const CHECK: usize = 4;

/// A ring whose newest records are all torn is searched this far back.
const SEARCHED: u32 = 8;

/// A record's bytes.
pub type Payload = Vec<u8, LONGEST>;

/// Knows where the newest record stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Journal {
    sequence: u32,
}

impl Journal {
    /// A memory that has never been written, as far as is known.
    pub const EMPTY: Self = Self { sequence: 0 };

    /// Finds the newest whole record and leaves its payload in `payload`, which
    /// stays empty where there is none.
    ///
    /// # Errors
    ///
    /// Those of [`Memory::read`].
    pub fn open<I: I2c, D: DelayNs>(
        memory: &mut Memory<I, D>,
        payload: &mut Payload,
    ) -> Result<Self, MemoryError> {
        let mut below = u32::MAX;
        for _ in 0..SEARCHED {
            let mut newest = None;
            for place in 0..RECORDS {
                let mut bytes = [0; 4];
                memory.read(address(place), &mut bytes)?;
                let sequence = u32::from_le_bytes(bytes);
                // A record stands where its number puts it; anything else is torn.
                if sequence < below && place_of(sequence) == place {
                    newest = newest.max(Some(sequence));
                }
            }
            let Some(sequence) = newest else {
                break;
            };
            if is_whole(memory, sequence, payload)? {
                return Ok(Self { sequence });
            }
            below = sequence;
        }
        Ok(Self::EMPTY)
    }

    /// Begins to write `payload` over the oldest record. Once that is done,
    /// [`Journal::written`] must be told; until then the newest record before counts.
    pub fn begin(&self, outgoing: &mut Outgoing, payload: &[u8]) {
        let sequence = self.sequence.saturating_add(1);
        let bytes = outgoing.begin(address(place_of(sequence)));
        fill(bytes, sequence, payload);
    }

    /// What was begun is whole in the memory.
    pub const fn written(&mut self) {
        self.sequence = self.sequence.saturating_add(1);
    }
}

/// The bytes of the record that holds `payload` as number `sequence`. What
/// lies beyond [`LONGEST`] is left out.
fn fill(bytes: &mut Record, sequence: u32, payload: &[u8]) {
    let payload = &payload[..payload.len().min(LONGEST)];
    // There is room: the payload is never longer than a record has room for.
    let _ = bytes.extend_from_slice(&sequence.to_le_bytes());
    let _ = bytes.push(payload.len() as u8);
    let _ = bytes.extend_from_slice(payload);
    let check = checksum(bytes);
    let _ = bytes.extend_from_slice(&check.to_le_bytes());
}

/// Whether record number `sequence` is whole; leaves its payload in `payload`, or nothing.
fn is_whole<I: I2c, D: DelayNs>(
    memory: &mut Memory<I, D>,
    sequence: u32,
    payload: &mut Payload,
) -> Result<bool, MemoryError> {
    payload.clear();
    let start = address(place_of(sequence));
    let mut header = [0; HEADER];
    memory.read(start, &mut header)?;
    let length = header[HEADER - 1];
    if payload.resize(length.into(), 0).is_err() {
        return Ok(false);
    }
    let behind = start + HEADER as u16;
    memory.read(behind, payload)?;
    let mut check = [0; CHECK];
    memory.read(behind + u16::from(length), &mut check)?;
    let whole = checksum_of_both(&header, payload) == u32::from_le_bytes(check);
    if !whole {
        payload.clear();
    }
    Ok(whole)
}

/// The place of record number `sequence` in the ring.
const fn place_of(sequence: u32) -> u16 {
    (sequence % RECORDS as u32) as u16
}

/// The address of a place in the ring.
const fn address(place: u16) -> u16 {
    START + place * RECORD as u16
}

/// Bounds how often the memory is written.
///
/// At most [`Allowance::AT_ONCE`] writes in a burst and one more for every
/// minute: no more than 1,500 a day. Spread over 64 records that is 24 writes
/// of a page a day, and a page endures a million (common practice).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Allowance {
    left: u8,
    since: Instant,
}

impl Allowance {
    /// The largest burst.
    pub const AT_ONCE: u8 = 60;

    /// A write is granted for each of these.
    pub const EVERY: Duration = Duration::from_minutes(1);

    /// A full allowance.
    #[must_use]
    pub const fn full(now: Instant) -> Self {
        Self {
            left: Self::AT_ONCE,
            since: now,
        }
    }

    /// Spends one write, if one is left.
    pub fn spend(&mut self, now: Instant) -> Spending {
        while self.left < Self::AT_ONCE && now.since(self.since) >= Self::EVERY {
            self.left += 1;
            self.since = self.since.after(Self::EVERY);
        }
        if self.left == Self::AT_ONCE {
            self.since = now;
        }
        match self.left.checked_sub(1) {
            Some(left) => {
                self.left = left;
                Spending::Granted
            }
            None => Spending::Refused,
        }
    }
}

/// Whether a write may be made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spending {
    /// Write now.
    Granted,
    /// Wait; the memory has been written too often.
    Refused,
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::memory::fake::{FakeChip, Tear};

    fn payload(fill: u8) -> Payload {
        Payload::from_slice(&[fill; 118]).unwrap()
    }

    fn opened(chip: &FakeChip) -> (Journal, Option<Payload>) {
        let mut payload = Payload::new();
        let journal = Journal::open(&mut chip.memory(), &mut payload).unwrap();
        (journal, (!payload.is_empty()).then_some(payload))
    }

    fn newest(chip: &FakeChip) -> Option<Payload> {
        opened(chip).1
    }

    fn write(journal: &mut Journal, chip: &FakeChip, payload: &[u8]) -> Result<(), MemoryError> {
        let mut outgoing = Outgoing::nothing();
        journal.begin(&mut outgoing, payload);
        chip.memory().finish(&mut outgoing)?;
        journal.written();
        Ok(())
    }

    #[test]
    fn the_newest_record_counts_all_around_the_ring() {
        let chip = FakeChip::new();
        let (mut journal, none) = opened(&chip);
        assert_eq!(none, None);
        for n in 0..150_u8 {
            write(&mut journal, &chip, &payload(n)).unwrap();
            assert_eq!(newest(&chip), Some(payload(n)));
        }
        let most = chip.most_writes_of_a_page();
        assert!(most <= 3, "{most} writes of one page in 150 records");
    }

    #[test]
    fn a_cut_at_any_byte_leaves_the_old_or_the_new() {
        for tear in [Tear::KeepsWhatArrived, Tear::GarblesThePage] {
            let (mut kept_old, mut kept_new) = (0, 0);
            for cut_after in 0.. {
                let chip = FakeChip::new();
                let (mut journal, _) = opened(&chip);
                for n in 0..70 {
                    write(&mut journal, &chip, &payload(n)).unwrap();
                }
                chip.cut_after(cut_after, tear);
                let written = write(&mut journal, &chip, &payload(200));
                chip.restore();
                match newest(&chip) {
                    Some(found) if found == payload(69) => kept_old += 1,
                    Some(found) if found == payload(200) => kept_new += 1,
                    other => panic!("{tear:?}, cut after {cut_after} bytes: {other:?}"),
                }
                if written.is_ok() {
                    break;
                }
            }
            assert!(kept_old > PAGE && kept_new > 0, "{kept_old} {kept_new}");
        }
    }

    #[test]
    fn a_day_of_constant_asking_is_bounded() {
        let mut allowance = Allowance::full(Instant::POWER_UP);
        let granted = (0..864_000_u64)
            .filter(|&pass| allowance.spend(Instant::from_millis(pass * 100)) == Spending::Granted)
            .count();
        assert!((1_400..=1_500).contains(&granted), "{granted}");
    }
}
