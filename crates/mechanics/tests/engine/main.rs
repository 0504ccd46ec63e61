//! Tests of the engine: its laws, its rules one by one, its accuracy, and that nothing random breaks it.

mod accuracy;
mod energy;
mod lanes;
mod not_finite;
mod random_falls;
mod rest;
mod rigs;
mod rules;
