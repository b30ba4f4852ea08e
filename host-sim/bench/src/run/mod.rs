//! A run: who decides, who is fed, and the loop that carries values round.

pub mod bench;
pub mod board;
pub mod conditions;
mod fed_by_circuit;
pub mod feed;
pub mod feeding;
pub mod left_model;
pub mod remembered;
pub mod supply;
pub mod world;
