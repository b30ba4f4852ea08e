//! What must survive a loss of power besides the settings: a lockout, the
//! counters, and the starts of the last hour.
//!
//! A ring of records wears the memory evenly. Each record fills two pages and
//! carries a sequence number and a CRC; the newest whole one counts. How often
//! a record may be written is bounded by an [`Allowance`].
//!
//! A record that can't be read may have held a lockout, so the one before it
//! counts only where that is proven to lose none. What must not be lost is
//! written twice, in two records one after the other (by the persistence), so one bad
//! record hides nothing. Records are begun in the order of their numbers; if the
//! place of the second one after the newest whole record still holds what it held
//! a round before, at most one record was begun since: a routine one, a
//! second copy, or a first copy whose writing was never finished. If it holds
//! anything else, two may be lost, and the ring is not to be trusted.

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

/// A ring whose newest records can't be read is searched this far back.
const SEARCHED: u32 = 8;

/// What a place that was never written shows for a number. Records are numbered from one.
const BLANK: u32 = u32::MAX;

/// A record's bytes.
pub type Payload = Vec<u8, LONGEST>;

/// Whether newer records than the newest whole one may have been lost with a lockout.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Proof {
    /// None: the newest whole record tells the truth.
    Whole,
    /// Perhaps: nothing in the ring is to be trusted.
    PerhapsLost,
}

/// Knows where the newest record stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Journal {
    /// Zero where there is none.
    sequence: u32,
    /// Records to write until every doubtful one in the ring is written over.
    to_renew: u16,
}

impl Journal {
    /// Finds the newest whole record and leaves its payload in `payload`, which
    /// stays empty where there is none. There is no other way to a journal: what is
    /// written must be numbered on from what is there.
    ///
    /// # Errors
    ///
    /// Those of [`Memory::read`].
    pub fn open<I: I2c, D: DelayNs>(
        memory: &mut Memory<I, D>,
        payload: &mut Payload,
    ) -> Result<(Self, Proof), MemoryError> {
        let sequence = newest_whole(memory, payload)?;
        let untouched = still_holds_the_round_before(memory, sequence.saturating_add(1))?
            || still_holds_the_round_before(memory, sequence.saturating_add(2))?;
        Ok(if untouched {
            let to_renew = 0;
            (Self { sequence, to_renew }, Proof::Whole)
        } else {
            let to_renew = RECORDS;
            (Self { sequence, to_renew }, Proof::PerhapsLost)
        })
    }

    /// Leaves the payload of the record before the newest in `payload`, or nothing if
    /// that is not whole.
    ///
    /// # Errors
    ///
    /// Those of [`Memory::read`].
    pub fn one_before<I: I2c, D: DelayNs>(
        &self,
        memory: &mut Memory<I, D>,
        payload: &mut Payload,
    ) -> Result<(), MemoryError> {
        payload.clear();
        if self.sequence > 1 {
            is_whole(memory, self.sequence - 1, payload)?;
        }
        Ok(())
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
        self.to_renew = self.to_renew.saturating_sub(1);
    }

    /// What was begun stands in a place that does not hold it; the next one goes further.
    pub const fn pass_over(&mut self) {
        self.sequence = self.sequence.saturating_add(1);
    }

    /// Whether records that are not to be trusted still stand in the ring. Until it has
    /// been written all around, another start would find them again.
    #[must_use]
    pub const fn wants_renewal(&self) -> bool {
        self.to_renew > 0
    }
}

/// The number of the newest whole record, whose payload is left in `payload`; zero and
/// nothing where there is none.
fn newest_whole<I: I2c, D: DelayNs>(
    memory: &mut Memory<I, D>,
    payload: &mut Payload,
) -> Result<u32, MemoryError> {
    payload.clear();
    let mut below = BLANK;
    for _ in 0..SEARCHED {
        let mut newest = None;
        for place in 0..RECORDS {
            let sequence = number_at(memory, place)?;
            // A record stands where its number puts it; anything else is torn.
            if sequence < below && place_of(sequence) == place {
                newest = newest.max(Some(sequence));
            }
        }
        let Some(sequence) = newest else {
            break;
        };
        if is_whole(memory, sequence, payload)? {
            return Ok(sequence);
        }
        below = sequence;
    }
    Ok(0)
}

/// Whether the place of record number `sequence` shows the number that stood there before
/// that record was begun.
fn still_holds_the_round_before<I: I2c, D: DelayNs>(
    memory: &mut Memory<I, D>,
    sequence: u32,
) -> Result<bool, MemoryError> {
    let before = match sequence.checked_sub(RECORDS.into()) {
        None | Some(0) => BLANK,
        Some(before) => before,
    };
    Ok(number_at(memory, place_of(sequence))? == before)
}

fn number_at<I: I2c, D: DelayNs>(
    memory: &mut Memory<I, D>,
    place: u16,
) -> Result<u32, MemoryError> {
    let mut bytes = [0; 4];
    memory.read(address(place), &mut bytes)?;
    Ok(u32::from_le_bytes(bytes))
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
    if length == 0 || payload.resize(length.into(), 0).is_err() {
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
        let (journal, proof) = Journal::open(&mut chip.memory(), &mut payload).unwrap();
        assert_eq!(proof, Proof::Whole);
        (journal, (!payload.is_empty()).then_some(payload))
    }

    fn proof(chip: &FakeChip) -> Proof {
        Journal::open(&mut chip.memory(), &mut Payload::new())
            .unwrap()
            .1
    }

    fn written(records: u8) -> (FakeChip, Journal) {
        let chip = FakeChip::new();
        let (mut journal, _) = opened(&chip);
        for n in 1..=records {
            write(&mut journal, &chip, &payload(n)).unwrap();
        }
        (chip, journal)
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
    fn a_record_of_no_length_is_none_and_no_fault_of_the_bus() {
        let (chip, _) = written(70);
        let mut bytes = Record::new();
        fill(&mut bytes, 71, &[]);
        chip.load(address(place_of(71)), &bytes);
        assert_eq!(newest(&chip), Some(payload(70)));
    }

    #[test]
    fn one_bad_record_is_proven_and_two_in_a_row_are_not() {
        for records in [1, 2, 5, 63, 64, 65, 130] {
            let (chip, _) = written(records);
            let of = |back: u8| START + place_of(u32::from(records - back)) * RECORD as u16;
            // The number, the length, the payload and the last byte of the CRC.
            for at in [0, 1, 3, 4, 40, 126] {
                for mask in [1, 0x80] {
                    chip.flip(of(0) + at, mask);
                    let before = (records > 1).then(|| payload(records - 1));
                    assert_eq!(newest(&chip), before, "{records} {at} {mask}");
                    if records > 1 {
                        chip.flip(of(1) + 50, 4);
                        assert_eq!(proof(&chip), Proof::PerhapsLost, "{records} {at} {mask}");
                        chip.flip(of(1) + 50, 4);
                    }
                    chip.flip(of(0) + at, mask);
                }
            }
            assert_eq!(newest(&chip), Some(payload(records)));
        }
    }

    #[test]
    fn an_old_bad_record_casts_no_doubt() {
        for records in [40, 130] {
            let (chip, _) = written(records);
            for back in 1..records.min(64) {
                let at = address(place_of(u32::from(records - back)));
                for byte in [0, 3, 60] {
                    chip.flip(at + byte, 0x41);
                    assert_eq!(newest(&chip), Some(payload(records)), "{back} {byte}");
                    chip.flip(at + byte, 0x41);
                }
            }
        }
    }

    #[test]
    fn a_ring_of_rubbish_is_trusted_once_it_was_written_all_around() {
        let chip = FakeChip::new();
        chip.load(START, &[0x5a; RECORDS as usize * RECORD]);
        let mut nothing = Payload::new();
        let (mut journal, doubt) = Journal::open(&mut chip.memory(), &mut nothing).unwrap();
        assert_eq!((doubt, nothing.len()), (Proof::PerhapsLost, 0));
        let mut doubtful = 0;
        while journal.wants_renewal() {
            doubtful += usize::from(proof(&chip) == Proof::PerhapsLost);
            write(&mut journal, &chip, &payload(7)).unwrap();
        }
        assert!(doubtful > 50, "{doubtful}");
        assert_eq!(newest(&chip), Some(payload(7)));
    }

    #[test]
    fn a_place_that_is_worn_is_passed_over() {
        let (chip, mut journal) = written(70);
        chip.wear(address(place_of(71)) + 30);
        assert_eq!(
            write(&mut journal, &chip, &payload(71)),
            Err(MemoryError::Mismatch)
        );
        journal.pass_over();
        write(&mut journal, &chip, &payload(72)).unwrap();
        assert_eq!(newest(&chip), Some(payload(72)));
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
