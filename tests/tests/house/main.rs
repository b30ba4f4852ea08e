//! How the project itself is built: what may use what, and where its figures come from.

mod imports;
mod named_sources;
mod settings_reference;
