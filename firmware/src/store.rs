//! The settings, kept through any loss of power.
//!
//! Two slots take turns. A record carries a sequence number and a CRC over
//! everything before it, so a record whose write was cut short is never taken
//! for whole, and the slot that held the settings until then was not touched.
//!
//! ```text
//! offset  0  mark (2)   what follows is a record
//!         2  length (2) of the payload, little-endian
//!         4  sequence (4), little-endian; also counts the writes
//!         8  payload
//!  8+length  CRC-32 (4), little-endian
//! ```

use embedded_hal::delay::DelayNs;
use embedded_hal::i2c::I2c;
use heapless::Vec;
use hysteron_logic::checksum::{checksum, checksum_of_both};

use crate::memory::{LONGEST_RECORD, Memory, MemoryError, Outgoing, Record};

/// Addresses of the two slots.
pub const SLOTS: [u16; 2] = [0x0000, 0x0100];

/// The longest payload.
pub const LONGEST: usize = LONGEST_RECORD - HEADER - CHECK;

const MARK: [u8; 2] = [0x48, 0x79];
const HEADER: usize = 8;
const CHECK: usize = 4;

/// The settings' bytes as they stand in the memory.
pub type Payload = Vec<u8, LONGEST>;

/// Knows which slot is the newest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Store {
    newest: usize,
    sequence: u32,
}

impl Store {
    /// A memory that has never been written.
    const EMPTY: Self = Self {
        newest: 1,
        sequence: 0,
    };

    /// Finds the newest whole record and leaves its payload in `payload`, which
    /// stays empty if neither slot holds one: a new memory, or a broken one. There is
    /// no other way to a store: what is saved must be numbered on from what is there.
    ///
    /// # Errors
    ///
    /// Those of [`Memory::read`].
    pub fn open<I: I2c, D: DelayNs>(
        memory: &mut Memory<I, D>,
        payload: &mut Payload,
    ) -> Result<Self, MemoryError> {
        let first = sequence_of(memory, 0, payload)?;
        let second = sequence_of(memory, 1, payload)?;
        if second > first {
            return Ok(Self {
                newest: 1,
                sequence: second.unwrap_or(0),
            });
        }
        let sequence = sequence_of(memory, 0, payload)?;
        Ok(sequence.map_or(Self::EMPTY, |sequence| Self {
            newest: 0,
            sequence,
        }))
    }

    /// Writes of settings so far, as far as the memory remembers: a measure of its wear.
    #[must_use]
    pub const fn writes(&self) -> u32 {
        self.sequence
    }

    /// Begins to write `payload` over the older slot. Once that is done, [`Store::saved`]
    /// must be told; until then the settings saved before count, and are whole.
    pub fn begin(&self, outgoing: &mut Outgoing, payload: &[u8]) {
        let bytes = outgoing.begin(SLOTS[self.older()]);
        fill(bytes, self.sequence.saturating_add(1), payload);
    }

    /// What was begun is whole in the memory.
    pub const fn saved(&mut self) {
        self.newest = self.older();
        self.sequence = self.sequence.saturating_add(1);
    }

    const fn older(&self) -> usize {
        1 - self.newest
    }
}

/// The bytes of a slot that holds `payload` as number `sequence`. What lies
/// beyond [`LONGEST`] is left out.
#[must_use]
pub fn record(sequence: u32, payload: &[u8]) -> Record {
    let mut bytes = Record::new();
    fill(&mut bytes, sequence, payload);
    bytes
}

fn fill(bytes: &mut Record, sequence: u32, payload: &[u8]) {
    let payload = &payload[..payload.len().min(LONGEST)];
    // There is room: the payload is never longer than a slot has room for.
    let _ = bytes.extend_from_slice(&MARK);
    let _ = bytes.extend_from_slice(&(payload.len() as u16).to_le_bytes());
    let _ = bytes.extend_from_slice(&sequence.to_le_bytes());
    let _ = bytes.extend_from_slice(payload);
    let check = checksum(bytes);
    let _ = bytes.extend_from_slice(&check.to_le_bytes());
}

/// The sequence of the record in `slot`, whose payload is left in `payload`;
/// `None` and no payload if it is not whole.
fn sequence_of<I: I2c, D: DelayNs>(
    memory: &mut Memory<I, D>,
    slot: usize,
    payload: &mut Payload,
) -> Result<Option<u32>, MemoryError> {
    payload.clear();
    let mut header = [0; HEADER];
    memory.read(SLOTS[slot], &mut header)?;
    let [m0, m1, l0, l1, s0, s1, s2, s3] = header;
    let length = usize::from(u16::from_le_bytes([l0, l1]));
    if [m0, m1] != MARK || length == 0 || payload.resize(length, 0).is_err() {
        return Ok(None);
    }
    let behind = SLOTS[slot] + HEADER as u16;
    memory.read(behind, payload)?;
    let mut check = [0; CHECK];
    memory.read(behind + length as u16, &mut check)?;
    if checksum_of_both(&header, payload) != u32::from_le_bytes(check) {
        payload.clear();
        return Ok(None);
    }
    Ok(Some(u32::from_le_bytes([s0, s1, s2, s3])))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::memory::PAGE;
    use crate::memory::fake::{FakeChip, Tear};

    fn payload(fill: u8, length: usize) -> Payload {
        Payload::from_slice(&vec![fill; length]).unwrap()
    }

    fn opened(chip: &FakeChip) -> (Store, Option<Payload>) {
        let mut payload = Payload::new();
        let store = Store::open(&mut chip.memory(), &mut payload).unwrap();
        (store, (!payload.is_empty()).then_some(payload))
    }

    fn save(store: &mut Store, chip: &FakeChip, payload: &[u8]) -> Result<(), MemoryError> {
        let mut outgoing = Outgoing::nothing();
        store.begin(&mut outgoing, payload);
        chip.memory().finish(&mut outgoing)?;
        store.saved();
        Ok(())
    }

    #[test]
    fn a_new_memory_is_unreadable_and_takes_a_first_record() {
        let chip = FakeChip::new();
        let (mut store, contents) = opened(&chip);
        assert_eq!(contents, None);
        let first = payload(1, 100);
        save(&mut store, &chip, &first).unwrap();
        let (store, contents) = opened(&chip);
        assert_eq!(contents, Some(first));
        assert_eq!(store.writes(), 1);
    }

    #[test]
    fn a_cut_at_any_byte_leaves_the_old_or_the_new() {
        let (old, new) = (payload(0x11, 100), payload(0x22, 117));
        for tear in [Tear::KeepsWhatArrived, Tear::GarblesThePage] {
            let (mut kept_old, mut kept_new) = (0, 0);
            for cut_after in 0.. {
                let chip = FakeChip::new();
                let (mut store, _) = opened(&chip);
                save(&mut store, &chip, &payload(0x33, 90)).unwrap();
                save(&mut store, &chip, &old).unwrap();
                chip.cut_after(cut_after, tear);
                let saved = save(&mut store, &chip, &new);
                chip.restore();
                match opened(&chip).1 {
                    Some(found) if found == old => kept_old += 1,
                    Some(found) if found == new => kept_new += 1,
                    other => panic!("{tear:?}, cut after {cut_after} bytes: {other:?}"),
                }
                if saved.is_ok() {
                    break;
                }
            }
            assert!(kept_old > 2 * PAGE && kept_new > 0, "{kept_old} {kept_new}");
        }
    }

    #[test]
    fn a_record_with_any_bit_changed_is_not_whole() {
        let chip = FakeChip::new();
        let saved = payload(0x5a, 40);
        save(&mut opened(&chip).0, &chip, &saved).unwrap();
        for bit in 0..(HEADER + 40 + CHECK) * 8 {
            let (address, mask) = (SLOTS[0] + bit as u16 / 8, 1 << (bit % 8));
            chip.flip(address, mask);
            assert_eq!(opened(&chip).1, None, "bit {bit}");
            chip.flip(address, mask);
        }
        assert_eq!(opened(&chip).1, Some(saved));
    }

    #[test]
    fn a_record_of_no_length_is_none_and_no_fault_of_the_bus() {
        let chip = FakeChip::new();
        let saved = payload(0x5a, 40);
        save(&mut opened(&chip).0, &chip, &saved).unwrap();
        // Whole by its CRC, and newer than the settings.
        chip.load(SLOTS[1], &record(2, &[]));
        assert_eq!(opened(&chip).1, Some(saved));
    }

    #[test]
    fn one_bad_slot_is_made_good_by_the_other() {
        let chip = FakeChip::new();
        let (mut store, _) = opened(&chip);
        let (first, second) = (payload(1, 50), payload(2, 50));
        save(&mut store, &chip, &first).unwrap();
        save(&mut store, &chip, &second).unwrap();
        chip.flip(SLOTS[1] + 20, 0x10);
        assert_eq!(opened(&chip).1, Some(first));
        chip.flip(SLOTS[0] + 20, 0x10);
        assert_eq!(opened(&chip).1, None);
    }
}
