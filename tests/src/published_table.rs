//! Tables of published values, as they lie in `data/`.
//!
//! Lines that begin with # name the source; the first other line is the header.

/// A table whose text is compiled into the test.
pub struct Table {
    columns: Vec<&'static str>,
    rows: Vec<Vec<&'static str>>,
}

impl Table {
    /// The table in `text`, comma-separated and without quotes.
    ///
    /// # Panics
    ///
    /// Without a header.
    #[must_use]
    pub fn parse(text: &'static str) -> Self {
        let mut lines = text
            .lines()
            .filter(|line| !line.starts_with('#'))
            .map(|line| line.split(',').collect::<Vec<_>>());
        let columns = lines.next().expect("a header line");
        Self {
            columns,
            rows: lines.collect(),
        }
    }

    /// How many rows it has, so that a test can show that it judged them all.
    #[must_use]
    pub fn len(&self) -> usize {
        self.rows.len()
    }

    /// Whether it has no rows.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// Its rows in order.
    pub fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.rows.iter().map(|fields| Row {
            columns: &self.columns,
            fields,
        })
    }
}

/// One row of a [`Table`].
pub struct Row<'a> {
    columns: &'a [&'static str],
    fields: &'a [&'static str],
}

impl Row<'_> {
    /// The field under `column`.
    ///
    /// # Panics
    ///
    /// Without such a column.
    #[must_use]
    pub fn text(&self, column: &str) -> &'static str {
        let index = self.columns.iter().position(|name| *name == column);
        self.fields[index.unwrap_or_else(|| panic!("no column {column}"))]
    }

    /// The number under `column`.
    ///
    /// # Panics
    ///
    /// Without such a column, or when it holds no number.
    #[must_use]
    pub fn number(&self, column: &str) -> f64 {
        self.text(column).parse().expect("a number")
    }

    /// Compares a value of ours with a column, within a part of the column's value.
    ///
    /// # Panics
    ///
    /// When they differ by more.
    pub fn assert_relative(&self, column: &str, ours: f64, tolerance: f64) {
        let published = self.number(column);
        self.assert_absolute(column, ours, published, tolerance * published.abs());
    }

    /// Compares a value of ours with a published one, within `tolerance` in the same unit.
    ///
    /// # Panics
    ///
    /// When they differ by more.
    pub fn assert_absolute(&self, what: &str, ours: f64, published: f64, tolerance: f64) {
        assert!(
            (ours - published).abs() <= tolerance,
            "{what}: {ours}, published {published}, tolerance {tolerance}, in {:?}",
            self.fields
        );
    }
}
