//! Ordered collections without a copy of the code for each type: the standard library's maps and
//! sorts compile again for every type, some 10 to 20 KB each, which a phone has to load.

mod grouped;
mod map;
mod set;

use std::cmp::Ordering;

pub use self::{
    grouped::Grouped,
    map::{Iter, Map},
    set::Sorted,
};

/// Sorts as `slice::sort_by` does; equal items keep their order.
pub fn sort_by<T>(items: &mut [T], order: impl Fn(&T, &T) -> Ordering) {
    let mut places = sorted(items.len(), &|a, b| order(&items[a], &items[b]));
    // Along each cycle of the permutation, every item moves to its place.
    for start in 0..places.len() {
        let mut at = start;
        loop {
            let from = std::mem::replace(&mut places[at], at);
            if from == start {
                break;
            }
            items.swap(at, from);
            at = from;
        }
    }
}

/// Sorts by a key; equal items keep their order.
pub fn sort_by_key<T, K: Ord>(items: &mut [T], key: impl Fn(&T) -> K) {
    sort_by(items, |a, b| key(a).cmp(&key(b)));
}

/// Sorts; equal items keep their order.
pub fn sort<T: Ord>(items: &mut [T]) {
    sort_by(items, Ord::cmp);
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
            sort_by_key(&mut ours, |item| item.0);
            theirs.sort_by_key(|item| item.0);
            prop_assert_eq!(&ours, &theirs);
            sort(&mut ours);
            theirs.sort_unstable();
            prop_assert_eq!(ours, theirs);
        }
    }
}
