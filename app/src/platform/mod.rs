//! The browser, one capability a file. Nothing else in the app names a web type, but the drawing
//! surface's input and paint.

pub mod channel;
pub mod clock;
pub mod crash;
pub mod database;
pub mod download;
pub mod fetch;
pub mod focus;
pub mod grid;
pub mod locks;
pub mod page;
pub mod paper;
pub mod pick;
pub mod print;
pub mod resized;
pub mod share;
pub mod worker;
