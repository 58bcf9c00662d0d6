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
//! | [`loop_balance`] | a loop's steady state |
//! | [`gas`] | real gas in a cylinder |
//! | [`oxygen`] | oxygen clocks and pulmonary units |
//! | [`absorbent`] | carbon dioxide and what takes it up |
//! | [`cells`] | oxygen cells |
//! | [`emergency`] | oxygen for first aid |

pub mod absorbent;
pub mod cells;
pub mod emergency;
pub mod gas;
pub mod litres;
pub mod loop_balance;
pub mod mix;
pub mod oxygen;
pub mod pressure;

pub use mix::Mix;
pub use pressure::Water;
