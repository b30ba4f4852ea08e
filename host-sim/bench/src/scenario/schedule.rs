//! When a happening happens: once, again and again, or every day.

use std::ops::Range;

use hysteron_logic::time::Duration;
use toml::Spanned;

use super::measure::{Moment, Time};
use super::quantity_text::moment_text;
use hysteron_source::entry::{Flag, Optional, Reads, Required};
use hysteron_source::form::Row;
use hysteron_source::item::Item;
use hysteron_source::table::Table;
use hysteron_source::text::Problem;

const DAY: Duration = Duration::from_hours(24);

/// When one happening begins and ends, as times since the scenario began.
#[derive(Debug, Clone, PartialEq)]
pub struct Schedule {
    /// Where the file says when.
    pub place: Range<usize>,
    /// The first beginning.
    at: Duration,
    /// From each beginning to its end.
    length: Option<Duration>,
    /// From one beginning to the next of the same day.
    every: Option<Duration>,
    /// When it stops beginning again on the first day.
    last: Duration,
    days: Days,
    /// The end of the scenario.
    end: Duration,
}

/// Whether the day's times come again.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Days {
    Once,
    Each,
}

/// The times of a [`Schedule`], in order.
#[derive(Debug, Clone)]
pub struct Times<'s> {
    schedule: &'s Schedule,
    day: Duration,
    /// The beginning that comes next, if the day still has one.
    begins: Option<Duration>,
}

/// From when until when; without an end where nothing limits it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Stretch {
    /// The beginning.
    pub begins: Duration,
    /// The end, later than the beginning.
    pub ends: Option<Duration>,
}

/// The frame that schedules must fit in.
#[derive(Debug, Clone, Copy)]
pub struct Frame {
    /// Length of the scenario.
    pub duration: Duration,
    /// Nothing shorter than a step can be noticed.
    pub step: Duration,
}

/// One happening more often than this is taken for a mistake in the unit.
const MOST_TIMES: usize = 500_000;

const AT: Required<Moment> = Required {
    key: "at",
    example: "\"14:30\"",
    form: Moment { example: "14:30" },
    sentence: "When it happens.",
};

const FOR: Optional<Time> = Optional {
    key: "for",
    form: Time { example: "20 min" },
    sentence: "How long it lasts.",
};

const UNTIL: Optional<Moment> = Optional {
    key: "until",
    form: Moment { example: "18:00" },
    sentence: "When it is over; beside `every`, when it stops beginning again.",
};

const EVERY: Optional<Time> = Optional {
    key: "every",
    form: Time { example: "20 min" },
    sentence: "How long after each beginning it begins again.",
};

const EACH_DAY: Optional<Flag> = Optional {
    key: "each_day",
    form: Flag,
    sentence: "Whether the day's times come again on each day.",
};

/// The entries that say when.
pub fn rows() -> Vec<Row> {
    vec![
        AT.row(),
        FOR.row(),
        UNTIL.row(),
        EVERY.row(),
        EACH_DAY.row(),
    ]
}

/// A value, and where it stands.
fn spanned<F: Reads>(form: &F, item: &Item<'_>) -> Option<Spanned<F::Value>> {
    let value = form.read(item)?;
    Some(Spanned::new(item.span(), value))
}

impl Schedule {
    /// Reads `at`, `for`, `until`, `every` and `each_day`.
    pub fn read(table: &mut Table<'_>, frame: Frame) -> Option<Self> {
        let at = AT.item(table).and_then(|item| spanned(&AT.form, &item));
        let length = FOR.item(table).map(|item| spanned(&FOR.form, &item));
        let until = UNTIL.item(table).map(|item| spanned(&UNTIL.form, &item));
        let every = EVERY.item(table).map(|item| spanned(&EVERY.form, &item));
        let each_day = EACH_DAY
            .item(table)
            .map(|item| spanned(&EACH_DAY.form, &item));
        let wanted = Wanted {
            at: at?,
            length: length.map_or(Some(None), |given| given.map(Some))?,
            until: until.map_or(Some(None), |given| given.map(Some))?,
            every: every.map_or(Some(None), |given| given.map(Some))?,
            each_day: each_day.map_or(Some(None), |given| given.map(Some))?,
        };
        match wanted.schedule(frame) {
            Ok(schedule) => Some(schedule),
            Err(problem) => {
                table.problems().add(problem);
                None
            }
        }
    }

    /// Each time it happens.
    pub const fn times(&self) -> Times<'_> {
        Times {
            schedule: self,
            day: Duration::ZERO,
            begins: Some(self.at),
        }
    }

    /// Whether what happens is given an end.
    pub const fn has_end(&self) -> bool {
        self.length.is_some()
    }
}

impl Iterator for Times<'_> {
    type Item = Stretch;

    fn next(&mut self) -> Option<Stretch> {
        let schedule = self.schedule;
        let last = schedule.last.and(self.day).min(schedule.end);
        let begins = match self.begins.filter(|begins| *begins < last) {
            Some(begins) => begins,
            None if schedule.days == Days::Once => return None,
            None => {
                self.day = self.day.and(DAY);
                let begins = schedule.at.and(self.day);
                (begins < schedule.end).then_some(begins)?
            }
        };
        self.begins = schedule.every.map(|every| begins.and(every));
        Some(Stretch {
            begins,
            ends: schedule.length.map(|length| begins.and(length)),
        })
    }
}

struct Wanted {
    at: Spanned<Duration>,
    length: Option<Spanned<Duration>>,
    until: Option<Spanned<Duration>>,
    every: Option<Spanned<Duration>>,
    each_day: Option<Spanned<bool>>,
}

impl Wanted {
    fn schedule(&self, frame: Frame) -> Result<Schedule, Problem> {
        self.check(frame)?;
        let at = *self.at.get_ref();
        let until = self.until.as_ref().map(|until| *until.get_ref());
        let length = match (&self.length, &self.every) {
            (Some(length), _) => Some(*length.get_ref()),
            (None, Some(_)) => None,
            (None, None) => until.map(|until| until.less(at)),
        };
        let daily = self.each_day.as_ref().is_some_and(|flag| *flag.get_ref());
        let schedule = Schedule {
            place: self.at.span(),
            at,
            length,
            every: self.every.as_ref().map(|every| *every.get_ref()),
            last: until.unwrap_or(frame.duration),
            days: if daily { Days::Each } else { Days::Once },
            end: frame.duration,
        };
        match &self.every {
            Some(every) if schedule.times().nth(MOST_TIMES).is_some() => {
                Err(Problem::at(every.span(), "this happens too often")
                    .expected(format!("at most {MOST_TIMES} times in all"))
                    .remedy("choose a longer time between, or an earlier end"))
            }
            Some(_) | None => Ok(schedule),
        }
    }

    fn check(&self, frame: Frame) -> Result<(), Problem> {
        let at = *self.at.get_ref();
        within(&self.at, frame.duration.less(frame.step))?;
        if let Some(length) = &self.length
            && *length.get_ref() < frame.step
        {
            return Err(Problem::at(length.span(), "too short to be noticed")
                .expected(format!("at least one step, {}", frame.step)));
        }
        if let Some(length) = &self.length
            && at.and(*length.get_ref()) > frame.duration
        {
            return Err(
                Problem::at(length.span(), "the scenario is over before this is")
                    .expected(format!("at most {}", frame.duration.less(at)))
                    .because_of(self.at.span(), "it begins here")
                    .remedy("choose a shorter time or a longer `duration`; what goes on to the end may do without"),
            );
        }
        if let Some(until) = &self.until {
            within(until, frame.duration)?;
            if *until.get_ref() <= at {
                return Err(
                    Problem::at(until.span(), "the end is not later than the beginning")
                        .expected(format!("later than {}", moment_text(at)))
                        .because_of(self.at.span(), "the beginning"),
                );
            }
        }
        match (&self.every, &self.length, &self.until) {
            (Some(every), _, _) if *every.get_ref() < frame.step => {
                return Err(Problem::at(every.span(), "too often")
                    .expected(format!("at least one step, {}", frame.step)));
            }
            (Some(every), Some(length), _) if length.get_ref() >= every.get_ref() => {
                return Err(Problem::at(
                    length.span(),
                    "it would not be over when it begins again",
                )
                .expected(format!("less than {}", (*every.get_ref())))
                .because_of(every.span(), "it begins again after this"));
            }
            (None, Some(length), Some(until)) => {
                return Err(Problem::at(until.span(), "the end is given twice")
                    .because_of(length.span(), "this gives it too")
                    .remedy("keep `for` or `until`; both go together only with `every`"));
            }
            (Some(_), _, _) | (None, _, _) => {}
        }
        match &self.each_day {
            Some(daily) if *daily.get_ref() => self.check_daily(daily.span()),
            Some(_) | None => Ok(()),
        }
    }

    /// What repeats every day must be over by the time it begins again.
    fn check_daily(&self, place: Range<usize>) -> Result<(), Problem> {
        if self.every.is_some() && self.until.is_none() {
            return Err(
                Problem::at(place, "what happens again and again each day needs its end")
                    .remedy("add `until = \"18:00\"`"),
            );
        }
        let ends = match (&self.until, &self.length) {
            (Some(until), _) => Some((until.span(), *until.get_ref())),
            (None, Some(length)) => Some((length.span(), self.at.get_ref().and(*length.get_ref()))),
            (None, None) => None,
        };
        let latest = self.at.get_ref().and(DAY);
        if *self.at.get_ref() >= DAY {
            return Err(
                Problem::at(self.at.span(), "what happens each day begins on day 1")
                    .expected("a time of day such as \"09:00\"")
                    .because_of(place, "it happens each day"),
            );
        }
        match ends {
            Some((end, moment)) if moment > latest => Err(Problem::at(
                end,
                "it would not be over when it begins again the next day",
            )
            .because_of(place, "it happens each day")),
            Some(_) | None => Ok(()),
        }
    }
}

/// Refuses a moment later than `latest`, after which the scenario ends.
fn within(moment: &Spanned<Duration>, latest: Duration) -> Result<(), Problem> {
    if *moment.get_ref() <= latest {
        return Ok(());
    }
    Err(Problem::at(moment.span(), "the scenario is over by then")
        .expected(format!("at most {}", moment_text(latest)))
        .remedy("choose an earlier time, or a longer `duration`"))
}
