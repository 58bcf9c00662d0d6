//! Every printed output.

pub mod figures;
