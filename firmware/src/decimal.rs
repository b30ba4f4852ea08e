//! Numbers as decimal digits, without the weight of a formatter.

/// The digits of `number`, in the end of `room`.
#[must_use]
#[inline(never)]
pub fn decimal(number: u64, room: &mut [u8; 20]) -> &[u8] {
    let mut left = number;
    let mut place = room.len();
    while place > 0 {
        place -= 1;
        // Nearly always short: the processor has no division, and none of 64 bits at
        // a price that a pass can pay for every digit.
        let tenth = match u32::try_from(left) {
            Ok(short) => u64::from(tenth_of(short)),
            Err(_) => left / 10,
        };
        // A digit is below ten.
        room[place] = b'0' + left.wrapping_sub(tenth.wrapping_mul(10)) as u8;
        left = tenth;
        if left == 0 {
            break;
        }
    }
    &room[place..]
}

/// A tenth, rounded down, by shifts: first a tenth that is too small by at most one,
/// as 0.8 and the powers of a sixteenth make it (Warren, Hacker's Delight, 10-17).
const fn tenth_of(number: u32) -> u32 {
    let sum = (number >> 1) + (number >> 2);
    let sum = sum + (sum >> 4);
    let sum = sum + (sum >> 8);
    let tenth = (sum + (sum >> 16)) >> 3;
    let left = number - tenth * 10;
    if left > 9 { tenth + 1 } else { tenth }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn digits_are_those_of_the_library() {
        let mut numbers: Vec<u64> = (0..100_000).collect();
        numbers.extend((0..64).flat_map(|bit| [(1_u64 << bit) - 1, 1 << bit]));
        numbers.extend((0..100_000).map(|n| u64::from(u32::MAX) - n * 40_009));
        for number in numbers {
            assert_eq!(
                decimal(number, &mut [0; 20]),
                number.to_string().as_bytes(),
                "{number}"
            );
        }
    }
}
