//! What other programs read.
