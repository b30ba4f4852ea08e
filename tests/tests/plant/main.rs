//! The plant against published tables, another solver, the balance of energy, and its extremes.

mod energy;
mod extremes;
mod published_air;
mod published_plant;
mod published_practice;
mod published_refrigerants;
mod solver;
mod weather_files;
