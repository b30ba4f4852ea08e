//! The screen: how wide, and which signs it can show.

use unicode_width::UnicodeWidthStr;

use super::style::{BAD, GOOD};
use hysteron_bench::record::verdict::Outcome;

/// Which signs can be shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Charset {
    /// Everything.
    Unicode,
    /// Only what every terminal has.
    Ascii,
}

impl Charset {
    /// What the locale promises; `variable` looks up one of the environment.
    ///
    /// The first that is set and not empty of `LC_ALL`, `LC_CTYPE` and `LANG` decides, as POSIX has it.
    #[must_use]
    pub fn of_locale(variable: impl Fn(&str) -> Option<String>) -> Self {
        if cfg!(windows) {
            return Self::Unicode;
        }
        let locale = ["LC_ALL", "LC_CTYPE", "LANG"]
            .into_iter()
            .filter_map(variable)
            .find(|value| !value.is_empty())
            .unwrap_or_default()
            .to_ascii_lowercase();
        if locale.contains("utf-8") || locale.contains("utf8") {
            Self::Unicode
        } else {
            Self::Ascii
        }
    }
}

/// A screen to write on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Screen {
    width: usize,
    charset: Charset,
}

const MARGIN: usize = 6;
const LABELS: usize = 16;

impl Screen {
    /// A screen of this width, within 60 to 120 columns.
    #[must_use]
    pub fn new(width: usize, charset: Charset) -> Self {
        Self {
            width: width.clamp(60, 120),
            charset,
        }
    }

    /// Columns.
    #[must_use]
    pub const fn width(self) -> usize {
        self.width
    }

    /// Which signs it shows.
    #[must_use]
    pub const fn charset(self) -> Charset {
        self.charset
    }

    /// Columns before the plot.
    #[must_use]
    pub const fn margin(self) -> usize {
        MARGIN
    }

    /// Columns of the plot.
    #[must_use]
    pub const fn plot_width(self) -> usize {
        self.width - MARGIN - LABELS
    }

    /// How many columns a text takes.
    #[must_use]
    pub fn width_of(self, text: &str) -> usize {
        text.width()
    }

    /// The text, cut where it is wider than `width`.
    #[must_use]
    pub fn fitted(self, text: &str, width: usize) -> String {
        if text.width() <= width {
            return text.to_owned();
        }
        let mut fitted = String::new();
        for sign in text.chars() {
            let wider = format!("{fitted}{sign}");
            if wider.width() >= width {
                break;
            }
            fitted = wider;
        }
        fitted.push('…');
        fitted
    }

    /// The sign of an outcome.
    #[must_use]
    pub fn sign(self, outcome: Outcome) -> String {
        let (style, sign) = match outcome {
            Outcome::Holds => (GOOD, '✓'),
            Outcome::Fails => (BAD, '✗'),
            Outcome::NeverReached => (BAD, '○'),
        };
        format!("{style}{sign}{style:#}")
    }

    /// A share from 0 to 1 as a bar of one column.
    #[must_use]
    pub fn bar(self, share: f64) -> char {
        const UNICODE: [char; 9] = ['·', '▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];
        const ASCII: [char; 9] = ['.', '1', '2', '3', '4', '5', '6', '7', '#'];
        let signs = match self.charset {
            Charset::Unicode => UNICODE,
            Charset::Ascii => ASCII,
        };
        let share = share.clamp(0.0, 1.0);
        // What ran at all is seen to have run.
        let step = (share * 8.0)
            .round()
            .max(if share > 0.0 { 1.0 } else { 0.0 });
        signs[step as usize]
    }

    /// The text in signs that this screen has.
    #[must_use]
    pub fn written(self, text: &str) -> String {
        match self.charset {
            Charset::Unicode => text.to_owned(),
            Charset::Ascii => {
                let mut written = String::with_capacity(text.len());
                for sign in text.chars() {
                    if sign.is_ascii() {
                        written.push(sign);
                    } else {
                        written.push_str(stand_in(sign));
                    }
                }
                written
            }
        }
    }
}

/// What stands in for a sign that is not ASCII.
fn stand_in(sign: char) -> &'static str {
    match sign {
        '\u{2212}' | '╌' | '–' | '—' | '─' => "-",
        '┈' | '·' => ".",
        '°' => "",
        '≤' => "<=",
        '≥' => ">=",
        '✓' => "+",
        '✗' => "!",
        '○' => "?",
        '…' => "~",
        '\u{a0}' => " ",
        'Ω' => "ohm",
        '×' => "x",
        '²' => "2",
        '³' => "3",
        'µ' => "u",
        '“' | '”' | '„' => "\"",
        '‘' | '’' => "'",
        _ => "?",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_variable_that_is_set_decides() {
        let locale = |all: &str, lang: &str| {
            let (all, lang) = (all.to_owned(), lang.to_owned());
            Charset::of_locale(move |name| match name {
                "LC_ALL" => Some(all.clone()),
                "LANG" => Some(lang.clone()),
                _ => None,
            })
        };
        assert_eq!(locale("", "en_GB.UTF-8"), Charset::Unicode);
        assert_eq!(locale("C", "en_GB.UTF-8"), Charset::Ascii);
        assert_eq!(locale("C.utf8", ""), Charset::Unicode);
        assert_eq!(Charset::of_locale(|_| None), Charset::Ascii);
    }

    #[test]
    fn what_is_too_wide_is_cut() {
        let screen = Screen::new(80, Charset::Ascii);
        assert_eq!(screen.fitted("short", 5), "short");
        assert_eq!(screen.fitted("longer", 5), "long…");
        assert_eq!(screen.written("≤ 5 °C…"), "<= 5 C~");
        assert_eq!(screen.bar(0.001), '1');
        assert_eq!(screen.bar(0.0), '.');
    }
}
