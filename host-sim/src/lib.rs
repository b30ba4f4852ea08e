//! The bench: a control in a simulated installation.
