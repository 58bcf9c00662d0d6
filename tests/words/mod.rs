//! The vocabulary, from outside.

mod check;
mod schema;

use leadsman::{physics, words};

#[test]
fn units_and_formulas_go_by_the_same_constants() {
    assert_eq!(words::FREE_PER_STPD, physics::litres::FREE_PER_STPD);
    assert_eq!(words::ATM_BAR, physics::pressure::ATMOSPHERE_BAR);
    assert_eq!(words::FSW_M, physics::pressure::FSW_BAR * 10.0);
    assert_eq!(words::MSW_M, physics::pressure::MSW_BAR * 10.0);
}
