//! What the command's exit code tells a script.

use std::process::ExitCode;

use hysteron_bench::record::verdict::{Outcome, Verdict};

/// How a command ended; the later, the worse.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Exit {
    /// Code 0: done, and every expectation holds.
    Holds,
    /// Code 1: done, and at least one expectation fails or was never reached.
    Fails,
    /// Code 2: the input is wrong, or a file cannot be read or written.
    WrongInput,
}

impl Exit {
    /// The codes, for `--help` and the manual.
    pub const ABOUT: &'static str = concat!(
        "  0  done, and every expectation holds\n",
        "  1  done, and at least one expectation fails\n",
        "  2  the input is wrong, or a file cannot be read or written",
    );

    /// The worse of two.
    #[must_use]
    pub fn worse(self, other: Self) -> Self {
        self.max(other)
    }

    /// What these verdicts come to. One that was never reached shows nothing, and so fails.
    #[must_use]
    pub fn of<'v>(verdicts: impl IntoIterator<Item = &'v Verdict>) -> Self {
        let all_hold = verdicts.into_iter().all(|verdict| match verdict.outcome {
            Outcome::Holds => true,
            Outcome::Fails | Outcome::NeverReached => false,
        });
        if all_hold { Self::Holds } else { Self::Fails }
    }

    /// The code.
    #[must_use]
    pub const fn code(self) -> u8 {
        match self {
            Self::Holds => 0,
            Self::Fails => 1,
            Self::WrongInput => 2,
        }
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> Self {
        Self::from(exit.code())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_worse_of_two_has_the_higher_code() {
        let all = [Exit::Holds, Exit::Fails, Exit::WrongInput];
        for one in all {
            for other in all {
                assert_eq!(one.worse(other).code(), one.code().max(other.code()));
            }
        }
    }
}
