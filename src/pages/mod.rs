//! Every printed output.
