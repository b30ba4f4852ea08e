//! Tables for a terminal.

use comfy_table::{CellAlignment, LineStyle, Table, TableStyle};

/// A rule below the headings and nothing else.
const STYLE: TableStyle =
    TableStyle::new().header_separator(LineStyle::none().fill('─').junction('─'));

/// An empty table with these headings, its columns set flush right but for the first `left`.
pub fn table(headings: &[String], left: usize) -> Table {
    let mut table = Table::new();
    table.load_style(STYLE);
    table.set_header(headings);
    for (place, column) in table.column_iter_mut().enumerate() {
        column.set_padding((0, 2));
        column.set_cell_alignment(if place < left {
            CellAlignment::Left
        } else {
            CellAlignment::Right
        });
    }
    table
}
