//! Ordered collections and sorts without a copy of the code for each type. The standard library's maps compile
//! again for every type, some 10 to 20 KB each; its sorts at a hundred places were 531 KB of a program of 4.2 MB,
//! and more than the download's budget.

mod grouped;
mod map;
mod set;

use std::cmp::Ordering;

pub use self::{
    grouped::Grouped,
    map::{Iter, Map},
    set::Sorted,
};

/// Sorts of slices. Equal items keep their order.
pub trait InOrder<T> {
    /// Sorts by a comparison.
    fn order_by(&mut self, order: impl Fn(&T, &T) -> Ordering);

    /// Sorts by a key.
    fn order_by_key<K: Ord>(&mut self, key: impl Fn(&T) -> K) {
        self.order_by(|a, b| key(a).cmp(&key(b)));
    }

    /// Sorts by the items themselves.
    fn order(&mut self)
    where
        T: Ord,
    {
        self.order_by(Ord::cmp);
    }
}

impl<T> InOrder<T> for [T] {
    fn order_by(&mut self, order: impl Fn(&T, &T) -> Ordering) {
        let mut places = sorted(self.len(), &|a, b| order(&self[a], &self[b]));
        // Along each cycle of the permutation, every item moves to its place.
        for start in 0..places.len() {
            let mut at = start;
            loop {
                let from = std::mem::replace(&mut places[at], at);
                if from == start {
                    break;
                }
                self.swap(at, from);
                at = from;
            }
        }
    }
}

/// The indices of `len` items in sorted order.
fn sorted(len: usize, order: &dyn Fn(usize, usize) -> Ordering) -> Vec<usize> {
    let mut places: Vec<usize> = (0..len).collect();
    places.sort_by(|a, b| order(*a, *b));
    places
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn sorts_as_the_standard_library_does(items: Vec<(u8, u16)>) {
            let (mut ours, mut theirs) = (items.clone(), items);
            ours.order_by_key(|item| item.0);
            theirs.sort_by_key(|item| item.0);
            prop_assert_eq!(&ours, &theirs);
            ours.order();
            theirs.sort_unstable();
            prop_assert_eq!(ours, theirs);
        }
    }
}
