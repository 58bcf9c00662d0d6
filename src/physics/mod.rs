//! Pure functions from numbers to numbers.
