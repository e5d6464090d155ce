//! Ordered collections without a copy of the code for each type: the standard library's maps compile
//! again for every type, some 10 to 20 KB each, which a phone has to load.

mod grouped;
mod map;
mod set;

pub use self::{
    grouped::Grouped,
    map::{Iter, Map},
    set::Sorted,
};
