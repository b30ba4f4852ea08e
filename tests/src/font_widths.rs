//! Widths of letters in a wide font: DejaVu Sans 2.37, from the tables of its files.

/// Units of the tables for each em.
const UNITS_PER_EM: f64 = 2048.0;

/// How heavy a text is set.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Weight {
    /// The book weight.
    Book,
    /// The bold weight.
    Bold,
}

/// Advance widths of the letters from space to tilde.
const BOOK: [u16; 95] = [
    651, 821, 942, 1716, 1303, 1946, 1597, 563, 799, 799, 1024, 1716, 651, 739, 651, 690, 1303,
    1303, 1303, 1303, 1303, 1303, 1303, 1303, 1303, 1303, 690, 690, 1716, 1716, 1716, 1087, 2048,
    1401, 1405, 1430, 1577, 1294, 1178, 1587, 1540, 604, 604, 1343, 1141, 1767, 1532, 1612, 1235,
    1612, 1423, 1300, 1251, 1499, 1401, 2025, 1403, 1251, 1403, 799, 690, 799, 1716, 1024, 1024,
    1255, 1300, 1126, 1300, 1260, 721, 1300, 1298, 569, 569, 1186, 569, 1995, 1298, 1253, 1300,
    1300, 842, 1067, 803, 1298, 1212, 1675, 1212, 1212, 1075, 1303, 690, 1303, 1716,
];

/// Advance widths of the letters from space to tilde.
const BOLD: [u16; 95] = [
    713, 934, 1067, 1716, 1425, 2052, 1786, 627, 936, 936, 1071, 1716, 778, 850, 778, 748, 1425,
    1425, 1425, 1425, 1425, 1425, 1425, 1425, 1425, 1425, 819, 819, 1716, 1716, 1716, 1188, 2048,
    1585, 1561, 1503, 1700, 1399, 1399, 1681, 1714, 762, 762, 1587, 1305, 2038, 1714, 1741, 1501,
    1741, 1577, 1475, 1397, 1663, 1585, 2259, 1579, 1483, 1485, 936, 748, 936, 1716, 1024, 1024,
    1382, 1466, 1214, 1466, 1389, 891, 1466, 1458, 702, 702, 1362, 702, 2134, 1458, 1407, 1466,
    1466, 1010, 1219, 979, 1458, 1335, 1892, 1321, 1335, 1192, 1458, 748, 1458, 1716,
];

/// Width of a text, in pixels; a letter outside of ASCII counts as a whole em.
#[must_use]
pub fn width(text: &str, size_px: f64, weight: Weight) -> f64 {
    let table = match weight {
        Weight::Book => &BOOK,
        Weight::Bold => &BOLD,
    };
    let units: f64 = text
        .chars()
        .map(|letter| {
            let index = (letter as usize).checked_sub(32);
            let known = index.and_then(|index| table.get(index));
            known.map_or(UNITS_PER_EM, |&units| f64::from(units))
        })
        .sum();
    units / UNITS_PER_EM * size_px
}
