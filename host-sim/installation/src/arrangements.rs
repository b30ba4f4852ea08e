//! The arrangements that ship: files a person can copy and change.

/// One shipped installation file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Arrangement {
    /// The name it is asked for by.
    pub name: &'static str,
    /// Its text.
    pub text: &'static str,
}

macro_rules! arrangements {
    ($($name:literal),* $(,)?) => {
        /// All of them.
        pub const ARRANGEMENTS: &[Arrangement] = &[
            $(Arrangement {
                name: $name,
                text: include_str!(concat!("../../installations/", $name, ".toml")),
            }),*
        ];
    };
}

arrangements![
    "compressor-120",
    "pump-down-120",
    "compressor-208",
    "compressor-240",
    "separate-supplies",
    "contactor-24",
    "heating-240",
    "alarm-lamp-120",
];

/// The arrangement of that name, if there is one.
#[must_use]
pub fn named(name: &str) -> Option<Arrangement> {
    ARRANGEMENTS
        .iter()
        .copied()
        .find(|arrangement| arrangement.name == name)
}
