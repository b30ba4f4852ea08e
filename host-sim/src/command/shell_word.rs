//! A command as a person types it again.

/// A word as a shell takes it.
#[must_use]
pub fn in_shell(word: &str) -> String {
    let plain =
        |c: char| c.is_alphanumeric() || matches!(c, '.' | '/' | '-' | '_' | ':' | '=' | '\\');
    if !word.is_empty() && word.chars().all(plain) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', "'\\''"))
    }
}
