//! What a person wrote, and what is wrong with it.
//!
//! Every TOML input goes through here: a [`SourceText`] is the text with its
//! name, a [`Problem`] is one mistake with its place, what was expected there
//! and what to do, and a [`Rejected`] is a text with all that was found wrong,
//! ready to be shown. Bad input of any kind ends in a [`Rejected`], never in a
//! panic.

pub use crate::lines::SourceText;
pub use crate::problem::{Misread, Problem, Problems, Rejected};

impl SourceText {
    /// No input file needs more than this; a larger one was given by mistake.
    pub const LIMIT_BYTES: usize = 1 << 20;

    /// The text under the name that messages give it (usually the path as the person wrote it).
    ///
    /// # Errors
    /// When the text is longer than [`Self::LIMIT_BYTES`].
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Result<Self, Rejected> {
        Self::from_bytes(name, text.into().into_bytes())
    }

    /// As [`Self::new`], from bytes that need not be text at all.
    ///
    /// # Errors
    /// When there are too many bytes, or they are not UTF-8.
    pub fn from_bytes(name: impl Into<String>, bytes: Vec<u8>) -> Result<Self, Rejected> {
        let name = name.into();
        if bytes.len() > Self::LIMIT_BYTES {
            return Err(Self::rejected_unread(
                name,
                Problem::in_general("the file is larger than 1 MiB")
                    .remedy("check that the right file was named: these files hold a few hundred lines at most"),
            ));
        }
        match String::from_utf8(bytes) {
            Ok(text) => Ok(Self::whole(name, text)),
            Err(error) => {
                let start = error.utf8_error().valid_up_to();
                let text = String::from_utf8_lossy(error.as_bytes()).into_owned();
                let stand_in = char::REPLACEMENT_CHARACTER.len_utf8();
                let problem = Problem::at(start..start + stand_in, "the file is not UTF-8 text")
                    .expected("this byte belongs to no character")
                    .remedy(
                        "save the file as UTF-8 (a \"°\" in another encoding is a frequent cause)",
                    );
                Err(Self::whole(name, text).rejected(vec![problem]))
            }
        }
    }

    /// A text that could not be read at all.
    #[must_use]
    pub fn unreadable(name: impl Into<String>, error: &std::io::Error) -> Rejected {
        Self::rejected_unread(
            name.into(),
            Problem::in_general(format!("cannot read the file: {error}"))
                .remedy("check the path, and that the file may be read"),
        )
    }

    /// A file of which nothing can be shown.
    fn rejected_unread(name: String, problem: Problem) -> Rejected {
        Rejected::with(Self::whole(name, String::new()), vec![problem])
    }

    /// This text together with what was found wrong with it.
    #[must_use]
    pub fn rejected(&self, problems: Vec<Problem>) -> Rejected {
        Rejected::with(self.clone(), problems)
    }
}

/// The name among `names` that was most likely meant by `written`, if any comes close.
#[must_use]
pub fn nearest<'n>(written: &str, names: impl IntoIterator<Item = &'n str>) -> Option<&'n str> {
    let plain = |name: &str| name.to_lowercase().replace(['-', '_'], " ");
    let written: String = plain(written).chars().take(80).collect();
    names
        .into_iter()
        .map(|name| (strsim::damerau_levenshtein(&written, &plain(name)), name))
        .filter(|(distance, name)| *distance <= (name.chars().count() / 3).max(1))
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, name)| name)
}

/// `names` as a person lists them: "a, b or c".
#[must_use]
pub fn any_of(names: &[&str]) -> String {
    match names {
        [] => "nothing".to_owned(),
        [only] => (*only).to_owned(),
        [first @ .., last] => format!("{} or {last}", first.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(text: &str, problem: Problem) -> String {
        let source = SourceText::new("box.toml", text).expect("short");
        source.rejected(vec![problem]).to_string()
    }

    #[test]
    fn a_problem_names_file_line_and_column() {
        let text = "title = \"cold\"\r\n\tlenght = 3\r\n";
        let place = text.find("lenght").expect("there");
        let problem = Problem::at(place..place + 6, "this file has no `lenght`")
            .expected("unknown name")
            .remedy("did you mean `length`?");
        let shown = shown(text, problem);
        for part in [
            "box.toml:2:2",
            "^^^^^^ unknown name",
            "help: did you mean `length`?",
        ] {
            assert!(shown.contains(part), "{part} is not in\n{shown}");
        }
    }

    #[test]
    fn any_place_in_any_text_can_be_shown() {
        let texts = [
            "",
            "\n",
            "°",
            "a\u{0}b\u{1b}[31m\u{202e}c\r",
            "x\n\n°°\n",
            "\u{feff}a = 1",
        ];
        for text in texts {
            for start in 0..=text.len() + 2 {
                for end in 0..=text.len() + 2 {
                    let problem = Problem::at(start..end, "what").because_of(end..start, "why");
                    let shown = shown(text, problem.expected("that"));
                    assert!(shown.contains("error: what"), "{shown}");
                    assert!(!shown.contains('\u{1b}'), "{shown}");
                }
            }
        }
    }

    #[test]
    fn on_a_plain_screen_places_stay_under_what_they_mark() {
        let text = "# \u{201e}K\u{fc}hl\u{201c}\nsetpoint = \"2 °C\" °\n";
        let source = SourceText::new("k\u{fc}hl.toml", text).expect("short");
        let place = text.rfind('°').expect("there");
        let problem = Problem::at(place..place + 2, "no °").expected("≤ 5 °C");
        let rejected = source.rejected(vec![problem.because_of(0..3, "ä")]);
        let plain = rejected.in_ascii(|words| words.replace(|sign: char| !sign.is_ascii(), "~"));
        let shown = plain.to_string();
        assert!(shown.is_ascii(), "{shown}");
        for part in [
            "k~hl.toml:2:19",
            "| setpoint = \"2 ?C\" ?\n",
            "|                   ^ ~ 5 ~C",
        ] {
            assert!(shown.contains(part), "{part} is not in\n{shown}");
        }
    }

    #[test]
    fn a_byte_of_another_encoding_is_pointed_at() {
        let rejected = SourceText::from_bytes(
            "old.toml",
            b"title = \"x\"\nsetpoint = \"2 \xb0C\"".to_vec(),
        );
        let shown = rejected.expect_err("not UTF-8").to_string();
        assert!(shown.contains("old.toml:2:15"), "{shown}");
    }

    #[test]
    fn a_file_beyond_the_limit_is_refused_and_one_at_the_limit_is_not() {
        assert!(SourceText::from_bytes("fits", vec![b'#'; SourceText::LIMIT_BYTES]).is_ok());
        let rejected = SourceText::from_bytes("huge", vec![b'#'; SourceText::LIMIT_BYTES + 1]);
        assert!(
            rejected
                .expect_err("too large")
                .to_string()
                .contains("larger than 1 MiB")
        );
    }

    #[test]
    fn the_nearest_name_is_near_or_absent() {
        let names = ["setpoint", "differential", "minimum_off_time"];
        assert_eq!(nearest("diferential", names), Some("differential"));
        assert_eq!(nearest("Minimum-Off-Time", names), Some("minimum_off_time"));
        assert_eq!(nearest("colour", names), None);
        assert_eq!(nearest(&"x".repeat(500_000), names), None);
    }
}
