//! What the bench has to say, in words: shared by the report, the terminal and the exports.

pub mod degrees;
pub mod event;
pub mod finding;
pub mod installation;
pub mod no_break_space;
pub mod number;
pub mod recorded;
pub mod setting;
pub mod span;
pub mod subject;
