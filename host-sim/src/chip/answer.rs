//! What the emulated chip's process answers, word by word: see `tests/chip/serve.mjs`.

/// Something that the chip did.
#[derive(Debug, Clone, PartialEq)]
pub enum ChipEvent {
    /// The relay's pin went high (driven) or low (released).
    Relay {
        /// Whether the coil has current now.
        driven: bool,
        /// When, in microseconds since the chip was started.
        at_us: f64,
    },
    /// The chip said a line on its service line.
    Line {
        /// The line.
        text: String,
        /// When its end was sent.
        at_us: f64,
    },
    /// The chip was reset: by its watchdog, or by its reset input.
    Reset {
        /// What reset it.
        cause: String,
        /// When.
        at_us: f64,
    },
    /// The chip lost its power.
    PowerLost {
        /// When.
        at_us: f64,
    },
    /// The light or the buzzer changed, if they are watched.
    Signal {
        /// `light` or `buzzer`.
        output: String,
        /// Whether it is on now.
        on: bool,
        /// When.
        at_us: f64,
    },
}

/// `bytes` in hexadecimal.
#[must_use]
pub fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}

/// The bytes that `digits` stand for; `None` if they are not hexadecimal.
#[must_use]
pub fn from_hexadecimal(digits: &str) -> Option<Vec<u8>> {
    let (pairs, []) = digits.as_bytes().as_chunks::<2>() else {
        return None;
    };
    let byte = |pair: &[u8; 2]| u8::from_str_radix(std::str::from_utf8(pair).ok()?, 16).ok();
    pairs.iter().map(byte).collect()
}

/// The time of the chip and what happened until then; `None` if it is no such answer.
pub(super) fn read_answer(answer: &str) -> Option<(f64, Vec<ChipEvent>)> {
    let mut words = answer.split(' ');
    let now = words.next()?.parse().ok()?;
    let happenings = words.map(happening).collect::<Option<_>>()?;
    Some((now, happenings))
}

fn happening(word: &str) -> Option<ChipEvent> {
    let (what, at) = word.split_once('@')?;
    let at_us = at.parse().ok()?;
    Some(match what.split_once('=') {
        None if what == "cut" => ChipEvent::PowerLost { at_us },
        Some(("relay", level)) => ChipEvent::Relay {
            driven: level == "1",
            at_us,
        },
        Some(("line", text)) => ChipEvent::Line {
            text: String::from_utf8_lossy(&from_hexadecimal(text)?).into_owned(),
            at_us,
        },
        Some(("reset", cause)) => ChipEvent::Reset {
            cause: cause.to_owned(),
            at_us,
        },
        Some((output @ ("light" | "buzzer"), level)) => ChipEvent::Signal {
            output: output.to_owned(),
            on: level == "1",
            at_us,
        },
        None | Some(_) => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_answer_is_taken_apart() {
        let (now, happenings) =
            read_answer("1000.5 relay=1@3.0 line=6f6b@4.5 reset=watchdog@5.0 cut@6.0 light=0@7.0")
                .unwrap();
        assert_eq!(now, 1000.5);
        assert_eq!(happenings.len(), 5);
        assert_eq!(
            happenings[1],
            ChipEvent::Line {
                text: "ok".into(),
                at_us: 4.5
            }
        );
        assert!(read_answer("1000 fire=1@2").is_none());
    }
}
