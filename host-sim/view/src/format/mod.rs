//! The formats of the files that people write, told from the rows that their reader goes by.

pub mod schema;
