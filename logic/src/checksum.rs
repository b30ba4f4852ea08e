//! The checksum of every record: CRC-32/ISO-HDLC of the published catalogue.
//!
//! A byte at a time: the table of 256 words costs a kilobyte of flash, and spares a
//! board's busiest pass half of what a table of sixteen words takes. The tests hold it
//! against a library.

/// The generator polynomial 0x04c11db7, reflected.
const POLYNOMIAL: u32 = 0xedb8_8320;

/// What a byte leaves behind.
static OF_A_BYTE: [u32; 256] = {
    let mut table = [0; 256];
    let mut rest: &mut [u32] = &mut table;
    let mut value = 0_u32;
    while let [entry, after @ ..] = rest {
        let mut left = value;
        let mut bits = 8_u32;
        while bits > 0 {
            left = if left & 1 == 1 {
                left >> 1 ^ POLYNOMIAL
            } else {
                left >> 1
            };
            bits = bits.wrapping_sub(1);
        }
        *entry = left;
        value = value.wrapping_add(1);
        rest = after;
    }
    table
};

/// The checksum of `bytes`.
#[must_use]
pub fn checksum(bytes: &[u8]) -> u32 {
    !continued(!0, bytes)
}

/// The checksum of `first` and `second`, one after the other.
#[must_use]
pub fn checksum_of_both(first: &[u8], second: &[u8]) -> u32 {
    !continued(continued(!0, first), second)
}

#[inline(never)]
fn continued(register: u32, bytes: &[u8]) -> u32 {
    bytes.iter().fold(register, |register, byte| {
        // A byte always finds its entry.
        let place = crate::conversion::usize_from_u32((register ^ u32::from(*byte)) & 0xff);
        register >> 8 ^ OF_A_BYTE.get(place).copied().unwrap_or(0)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn agrees_with_the_catalogue_and_with_a_library() {
        // The check value of the catalogue, for these nine digits.
        assert_eq!(checksum(b"123456789"), 0xcbf4_3926);
        let library = crc::Crc::<u32>::new(&crc::CRC_32_ISO_HDLC);
        let bytes: Vec<u8> = (0..2_000_u32).map(|n| (n * n / 7) as u8).collect();
        for length in 0..bytes.len() {
            assert_eq!(
                checksum(&bytes[..length]),
                library.checksum(&bytes[..length])
            );
        }
    }

    #[test]
    fn two_pieces_are_one() {
        for cut in 0..9 {
            let (first, second) = b"123456789".split_at(cut);
            assert_eq!(checksum_of_both(first, second), 0xcbf4_3926);
        }
    }
}
