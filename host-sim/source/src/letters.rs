//! Small and capital letters.

/// With a capital at the beginning.
#[must_use]
pub fn capitalised(text: &str) -> String {
    let mut characters = text.chars();
    characters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(characters).collect()
    })
}
