//! Small parts of the interface that know nothing of wiring.

pub mod dialog;
pub mod field;
pub mod flag;
pub mod icon;
pub mod number;
pub mod rows;
pub mod select;
pub mod typed;
pub mod views;
pub mod yes_no;

pub use dialog::Dialog;
pub use field::{Area, Choice, Text, Tick};
pub use icon::Icon;
pub use number::{Amount, Number, spoken};
pub use rows::rows;
pub use select::Select;
pub use views::{Fold, Given, Views};
pub use yes_no::{Known, YesNo};
