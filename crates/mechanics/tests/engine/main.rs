//! Tests of the engine: its laws, its rules one by one, its accuracy, and that nothing random breaks it.

mod energy;
mod random_falls;
mod rigs;
