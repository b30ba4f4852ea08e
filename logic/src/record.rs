//! Records of bytes: fields in order, little endian, closed by a checksum.

use crate::checksum::checksum;
use crate::settings::Confirmation;
use crate::time::Duration;
use crate::units::{Difference, Temperature};
use crate::unreadable::Unreadable;

/// Bytes of the checksum.
pub(crate) const CHECKSUM_LEN: usize = 4;

/// Writes the fields of a record into room that is just large enough.
pub(crate) struct Writer<'a> {
    record: &'a mut [u8],
    written: usize,
}

impl<'a> Writer<'a> {
    pub(crate) fn new(record: &'a mut [u8], kind: u8) -> Self {
        let mut out = Self { record, written: 0 };
        out.byte(kind);
        out
    }

    #[inline(never)]
    pub(crate) fn bytes(&mut self, bytes: &[u8]) {
        // Every record has room for all of its fields.
        let room = self.record.iter_mut().skip(self.written);
        for (to, from) in room.zip(bytes) {
            *to = *from;
        }
        self.written = self.written.wrapping_add(bytes.len());
    }

    #[inline(never)]
    pub(crate) fn byte(&mut self, byte: u8) {
        self.bytes(&[byte]);
    }

    #[inline(never)]
    pub(crate) fn word(&mut self, word: u32) {
        self.bytes(&word.to_le_bytes());
    }

    pub(crate) fn point(&mut self, temperature: Temperature) {
        self.word(temperature.millicelsius().cast_unsigned());
    }

    pub(crate) fn distance(&mut self, difference: Difference) {
        self.word(difference.millikelvin().cast_unsigned());
    }

    /// No length that is stored is longer than 48 h, which fits 32 bits.
    #[inline(never)]
    pub(crate) fn length(&mut self, duration: Duration) {
        self.word(u32::try_from(duration.millis()).unwrap_or(u32::MAX));
    }

    #[inline(never)]
    pub(crate) fn confirmation(&mut self, confirmation: Confirmation) {
        self.byte(match confirmation {
            Confirmation::NotGiven => 0,
            Confirmation::Given => 1,
        });
    }

    /// Closes the record: the checksum over everything before it.
    pub(crate) fn close(self) {
        if let Some((fields, check)) = self.record.split_last_chunk_mut::<CHECKSUM_LEN>() {
            *check = checksum(fields).to_le_bytes();
        }
    }
}

/// Reads the fields of a record whose length and checksum are right.
///
/// A record of the right length has all of its fields; behind its end there are zeros.
pub(crate) struct Reader<'a> {
    rest: &'a [u8],
}

impl<'a> Reader<'a> {
    pub(crate) fn opened(bytes: &'a [u8], length: usize, kind: u8) -> Result<Self, Unreadable> {
        if bytes.len() != length {
            return Err(Unreadable::Length);
        }
        let (fields, check) = bytes
            .split_last_chunk::<CHECKSUM_LEN>()
            .ok_or(Unreadable::Length)?;
        if checksum(fields) != u32::from_le_bytes(*check) {
            return Err(Unreadable::Checksum);
        }
        let mut input = Self { rest: fields };
        if input.byte() != kind {
            return Err(Unreadable::Kind);
        }
        Ok(input)
    }

    #[inline(never)]
    pub(crate) fn byte(&mut self) -> u8 {
        let Some((byte, rest)) = self.rest.split_first() else {
            return 0;
        };
        self.rest = rest;
        *byte
    }

    #[inline(never)]
    pub(crate) fn word(&mut self) -> u32 {
        let Some((word, rest)) = self.rest.split_first_chunk() else {
            return 0;
        };
        self.rest = rest;
        u32::from_le_bytes(*word)
    }

    pub(crate) fn three_bytes(&mut self) -> u32 {
        u32::from_le_bytes([self.byte(), self.byte(), self.byte(), 0])
    }

    pub(crate) fn double_word(&mut self) -> u64 {
        let Some((word, rest)) = self.rest.split_first_chunk() else {
            return 0;
        };
        self.rest = rest;
        u64::from_le_bytes(*word)
    }

    /// One of `choices`, by its place among them.
    pub(crate) fn choice<T: Copy, const N: usize>(
        &mut self,
        choices: [T; N],
    ) -> Result<T, Unreadable> {
        let place = usize::from(self.byte());
        choices.get(place).copied().ok_or(Unreadable::Choice)
    }

    pub(crate) fn point(&mut self) -> Temperature {
        Temperature::from_millicelsius(self.word().cast_signed())
    }

    pub(crate) fn distance(&mut self) -> Difference {
        Difference::from_millikelvin(self.word().cast_signed())
    }

    #[inline(never)]
    pub(crate) fn length(&mut self) -> Duration {
        Duration::from_millis(u64::from(self.word()))
    }

    #[inline(never)]
    pub(crate) fn confirmation(&mut self) -> Result<Confirmation, Unreadable> {
        self.choice([Confirmation::NotGiven, Confirmation::Given])
    }
}
