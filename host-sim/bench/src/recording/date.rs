//! Dates written in numbers alone, and the times of day behind them.

use jiff::civil::{Date, DateTime, Time};

/// What comes first in a date.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DateOrder {
    /// 31.12.2025
    DayFirst,
    /// 12/31/2025
    MonthFirst,
}

impl DateOrder {
    /// In words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::DayFirst => "day, month, year",
            Self::MonthFirst => "month, day, year",
        }
    }
}

/// What a date tells of the order of its numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tells {
    /// It can only be this one.
    Order(DateOrder),
    /// Day and month may be either way round, which makes two different days.
    DayOrMonth,
    /// The year comes first, or day and month are the same number.
    Nothing,
}

/// A date of three numbers, and what stands behind it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NumericDate<'t> {
    numbers: [i16; 3],
    year: Year,
    mark: char,
    clock: &'t str,
}

/// Where the year stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Year {
    First,
    Last,
    /// Two digits, so it may stand at either end.
    Short,
}

impl<'t> NumericDate<'t> {
    /// The date with which a text begins, if it does.
    pub fn of(text: &'t str) -> Option<Self> {
        let end = text.find(['T', ' ', ',']);
        let (date, clock) = end.map_or((text, ""), |end| text.split_at(end));
        let mark = date.chars().find(|c| !c.is_ascii_digit())?;
        if !matches!(mark, '.' | '/' | '-') {
            return None;
        }
        let mut groups = date.split(mark);
        let groups = [groups.next()?, groups.next()?, groups.next()?];
        let lengths = groups.map(str::len);
        if date.split(mark).count() != 3 || !groups.concat().bytes().all(|b| b.is_ascii_digit()) {
            return None;
        }
        let year = match lengths {
            [4, 1..=2, 1..=2] => Year::First,
            [1..=2, 1..=2, 4] => Year::Last,
            [2, 1..=2, 2] => Year::Short,
            [..] => return None,
        };
        let mut numbers = [0; 3];
        for (number, group) in numbers.iter_mut().zip(groups) {
            *number = group.parse().ok()?;
        }
        Some(Self {
            numbers,
            year,
            mark,
            clock: clock.trim_start_matches(['T', ' ', ',']),
        })
    }

    /// Whether nothing stands behind the date.
    pub const fn is_alone(&self) -> bool {
        self.clock.is_empty()
    }

    /// Whether the year has but two digits.
    pub fn has_short_year(&self) -> bool {
        self.year == Year::Short
    }

    /// What this date tells of the order. Between points the day comes first, by custom.
    pub fn tells(&self) -> Tells {
        let [first, second, _] = self.numbers;
        match (self.year, self.mark) {
            (Year::First, _) => Tells::Nothing,
            (Year::Last | Year::Short, '.') => Tells::Order(DateOrder::DayFirst),
            (Year::Last | Year::Short, _) if first > 12 => Tells::Order(DateOrder::DayFirst),
            (Year::Last | Year::Short, _) if second > 12 => Tells::Order(DateOrder::MonthFirst),
            (Year::Last | Year::Short, _) if first == second => Tells::Nothing,
            (Year::Last | Year::Short, _) => Tells::DayOrMonth,
        }
    }

    /// Date and time, with the numbers of the date in this order; midnight where no time follows.
    pub fn moment(&self, order: DateOrder) -> Option<DateTime> {
        let time = if self.is_alone() {
            Time::midnight()
        } else {
            time_of_day(self.clock)?
        };
        Some(self.date(order)?.to_datetime(time))
    }

    /// Date and time where the year comes first, and month and day behind it as everywhere.
    pub fn year_first(&self) -> Option<DateTime> {
        let year_first = self.year == Year::First;
        year_first.then(|| self.moment(DateOrder::DayFirst))?
    }

    fn date(&self, order: DateOrder) -> Option<Date> {
        let [first, second, third] = self.numbers;
        let (year, month, day) = match (order, self.year) {
            (_, Year::First) => (first, second, third),
            (DateOrder::DayFirst, Year::Last) => (third, second, first),
            (DateOrder::MonthFirst, Year::Last) => (third, first, second),
            (_, Year::Short) => return None,
        };
        Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
    }

    /// The date in words in this order, without its year: "3 April".
    pub fn in_words(&self, order: DateOrder) -> Option<String> {
        self.date(order)
            .map(|date| date.strftime("%-d %B").to_string())
    }

    /// How it would be told to `--time-format` in this order.
    pub fn format(&self, order: DateOrder) -> String {
        let mark = self.mark;
        let date = match (self.year, order) {
            (Year::First, _) => format!("%Y{mark}%m{mark}%d"),
            (Year::Last, DateOrder::DayFirst) => format!("%d{mark}%m{mark}%Y"),
            (Year::Last, DateOrder::MonthFirst) => format!("%m{mark}%d{mark}%Y"),
            (Year::Short, DateOrder::DayFirst) => format!("%d{mark}%m{mark}%y"),
            (Year::Short, DateOrder::MonthFirst) => format!("%m{mark}%d{mark}%y"),
        };
        let clock = CLOCKS.into_iter().find(|clock| {
            let read = Time::strptime(clock, self.clock);
            read.is_ok()
        });
        format!("{date} {}", clock.unwrap_or("%H:%M"))
    }
}

/// Ways to tell the time of day.
const CLOCKS: [&str; 6] = [
    "%H:%M",
    "%H:%M:%S",
    "%H:%M:%S%.f",
    "%I:%M %p",
    "%I:%M:%S %p",
    "%I:%M:%S%.f %p",
];

/// A time of day with its colons: "18:05", "18:05:30.5", "6:05 PM".
pub fn time_of_day(text: &str) -> Option<Time> {
    const LONGEST: usize = 32;
    if text.len() > LONGEST || !text.contains(':') {
        return None;
    }
    let mut clocks = CLOCKS.into_iter();
    clocks.find_map(|clock| Time::strptime(clock, text).ok())
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::datetime;

    #[test]
    fn dates_in_all_orders() {
        let evening = datetime(2025, 12, 31, 18, 5, 0, 0);
        for (text, order) in [
            ("31.12.2025 18:05", DateOrder::DayFirst),
            ("31/12/2025, 6:05 PM", DateOrder::DayFirst),
            ("31-12-2025T18:05:00", DateOrder::DayFirst),
            ("12/31/2025 06:05:00 pm", DateOrder::MonthFirst),
            ("12-31-2025 6:05PM", DateOrder::MonthFirst),
        ] {
            let date = NumericDate::of(text).expect(text);
            assert_eq!(date.tells(), Tells::Order(order), "{text}");
            assert_eq!(date.moment(order), Some(evening), "{text}");
            assert_eq!(date.year_first(), None);
        }
        let date = NumericDate::of("2025/12/31 18:05:00.000").expect("a date");
        assert_eq!(date.year_first(), Some(evening));
    }

    #[test]
    fn midnight_and_noon() {
        for (text, hour) in [
            ("12:00 AM", 0),
            ("12:00 PM", 12),
            ("00:00", 0),
            ("1:00 PM", 13),
        ] {
            assert_eq!(time_of_day(text).map(Time::hour), Some(hour), "{text}");
        }
        for text in ["", "18", "24:00", "13:00 PM", "18:05 o'clock", "18:60"] {
            assert_eq!(time_of_day(text), None, "{text}");
        }
    }

    #[test]
    fn what_a_date_leaves_open() {
        let tells = |text| NumericDate::of(text).expect("a date").tells();
        assert_eq!(tells("03/04/2025"), Tells::DayOrMonth);
        assert_eq!(tells("04/04/2025"), Tells::Nothing);
        assert_eq!(tells("03.04.2025"), Tells::Order(DateOrder::DayFirst));
        for text in [
            "",
            "3/4",
            "1/2/3/2025",
            "a.b.c",
            "31.12.20255",
            "--2025",
            "1.2",
            "€.1.2025",
        ] {
            assert_eq!(NumericDate::of(text), None, "{text}");
        }
        let wrong = NumericDate::of("31.02.2025").expect("numbers");
        assert_eq!(wrong.moment(DateOrder::DayFirst), None);
    }
}
