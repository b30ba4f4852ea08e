//! Records of bytes: fields in order, little endian, closed by a checksum.

use crc::{CRC_32_ISO_HDLC, Crc, NoTable};
use heapless::Vec;

use crate::codec::Unreadable;
use crate::settings::Confirmation;
use crate::time::Duration;
use crate::units::{Difference, Temperature};

pub(crate) const CHECKSUM: Crc<u32, NoTable> = Crc::<u32, NoTable>::new(&CRC_32_ISO_HDLC);
/// Bytes of the checksum.
pub(crate) const CHECKSUM_LEN: usize = 4;

/// Writes fields into a record of `N` bytes; the layouts above fit it exactly.
pub(crate) struct Writer<const N: usize> {
    pub(crate) bytes: Vec<u8, N>,
}

impl<const N: usize> Writer<N> {
    pub(crate) fn new(kind: u8) -> Self {
        let mut out = Self { bytes: Vec::new() };
        out.byte(kind);
        out
    }

    pub(crate) fn bytes(&mut self, bytes: &[u8]) {
        // Every record has room for all of its fields.
        let _ = self.bytes.extend_from_slice(bytes);
    }

    pub(crate) fn byte(&mut self, byte: u8) {
        self.bytes(&[byte]);
    }

    pub(crate) fn point(&mut self, temperature: Temperature) {
        self.bytes(&temperature.millicelsius().to_le_bytes());
    }

    pub(crate) fn distance(&mut self, difference: Difference) {
        self.bytes(&difference.millikelvin().to_le_bytes());
    }

    /// No length that is stored is longer than 48 h, which fits 32 bits.
    pub(crate) fn length(&mut self, duration: Duration) {
        let millis = u32::try_from(duration.millis()).unwrap_or(u32::MAX);
        self.bytes(&millis.to_le_bytes());
    }

    pub(crate) fn confirmation(&mut self, confirmation: Confirmation) {
        self.byte(match confirmation {
            Confirmation::NotGiven => 0,
            Confirmation::Given => 1,
        });
    }

    /// The record, filled with zeros up to its checksum.
    pub(crate) fn closed(self) -> [u8; N] {
        let mut record = [0; N];
        if let Some((fields, checksum)) = record.split_last_chunk_mut::<CHECKSUM_LEN>() {
            for (to, from) in fields.iter_mut().zip(&self.bytes) {
                *to = *from;
            }
            *checksum = CHECKSUM.checksum(fields).to_le_bytes();
        }
        record
    }
}

/// Reads fields in the order in which they were written.
pub(crate) struct Reader<'a> {
    rest: &'a [u8],
}

impl<'a> Reader<'a> {
    pub(crate) fn opened(bytes: &'a [u8], length: usize, kind: u8) -> Result<Self, Unreadable> {
        if bytes.len() != length {
            return Err(Unreadable::Length);
        }
        let (fields, checksum) = bytes
            .split_last_chunk::<CHECKSUM_LEN>()
            .ok_or(Unreadable::Length)?;
        if CHECKSUM.checksum(fields) != u32::from_le_bytes(*checksum) {
            return Err(Unreadable::Checksum);
        }
        let mut input = Self { rest: fields };
        if input.byte()? != kind {
            return Err(Unreadable::Kind);
        }
        Ok(input)
    }

    pub(crate) fn array<const N: usize>(&mut self) -> Result<[u8; N], Unreadable> {
        let (array, rest) = self.rest.split_first_chunk().ok_or(Unreadable::Length)?;
        self.rest = rest;
        Ok(*array)
    }

    pub(crate) fn byte(&mut self) -> Result<u8, Unreadable> {
        self.array().map(|[byte]| byte)
    }

    pub(crate) fn point(&mut self) -> Result<Temperature, Unreadable> {
        self.array()
            .map(i32::from_le_bytes)
            .map(Temperature::from_millicelsius)
    }

    pub(crate) fn distance(&mut self) -> Result<Difference, Unreadable> {
        self.array()
            .map(i32::from_le_bytes)
            .map(Difference::from_millikelvin)
    }

    pub(crate) fn length(&mut self) -> Result<Duration, Unreadable> {
        self.array()
            .map(u32::from_le_bytes)
            .map(|millis| Duration::from_millis(u64::from(millis)))
    }

    pub(crate) fn confirmation(&mut self) -> Result<Confirmation, Unreadable> {
        match self.byte()? {
            0 => Ok(Confirmation::NotGiven),
            1 => Ok(Confirmation::Given),
            _ => Err(Unreadable::Choice),
        }
    }
}
