//! Pure functions from numbers to numbers.
//!
//! Units inside are bar absolute, metres, minutes, fractions from 0 to 1, degrees Celsius, and **free litres**: litres
//! of gas at 1 bar and 20 °C. A name says its unit where the type is `f64`. Nothing here panics: a number that makes no
//! sense (negative, infinite, not a number) gives `None`, or is clamped where the doc comment says so.
//!
//! | file | subject |
//! | --- | --- |
//! | [`pressure`] | depth, altitude and pressure |
//! | [`mix`] | mixes: operating depth, equivalent depths, density |
//! | [`litres`] | the reference states a litre of gas may be at |
//! | [`loop_balance`] | a fed loop's steady state |
//! | [`loop_gas`] | how much gas a loop holds |
//! | [`transient`] | how a loop's oxygen moves between two events |
//! | [`passive`] | a loop that spills a share of each breath |
//! | [`closed`] | a loop that holds a partial pressure |
//! | [`set_point`] | what a loop's oxygen is held at |
//! | [`consumption`] | open-circuit breathing |
//! | [`gas`] | real gas in a cylinder |
//! | [`oxygen`] | oxygen clocks and pulmonary units |
//! | [`absorbent`] | carbon dioxide and what takes it up |
//! | [`cells`] | oxygen cells |
//! | [`tissues`] | inert gas in the body and what it tolerates |
//! | [`emergency`] | oxygen for first aid |
//! | [`roots`] | where a curve takes a value |
//! | [`tolerance`] | how much of a number is rounding |

pub mod absorbent;
pub mod cells;
pub mod closed;
pub mod consumption;
pub mod emergency;
pub mod gas;
pub mod litres;
pub mod loop_balance;
pub mod loop_gas;
pub mod mix;
pub mod oxygen;
pub mod passive;
pub mod pressure;
pub mod roots;
pub mod set_point;
pub mod tissues;
pub mod tolerance;
pub mod transient;

pub use mix::Mix;
pub use pressure::Water;
pub use set_point::SetPoint;
