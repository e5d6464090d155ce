//! A set stored as one sorted list.

use std::{borrow::Borrow, fmt, slice, vec};

/// An ordered set, stored as one sorted list; see [`Map`](super::Map).
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Sorted<K> {
    keys: Vec<K>,
}

impl<K> Default for Sorted<K> {
    fn default() -> Self {
        Self::new()
    }
}

impl<K> Sorted<K> {
    /// An empty set.
    pub const fn new() -> Self {
        Self { keys: Vec::new() }
    }

    /// Number of items.
    pub fn len(&self) -> usize {
        self.keys.len()
    }

    /// True if the set is empty.
    pub fn is_empty(&self) -> bool {
        self.keys.is_empty()
    }

    /// The items, in order.
    pub fn iter(&self) -> slice::Iter<'_, K> {
        self.keys.iter()
    }

    /// The first item in order.
    pub fn first(&self) -> Option<&K> {
        self.keys.first()
    }
}

impl<K: Ord> Sorted<K> {
    fn find<Q: Ord + ?Sized>(&self, key: &Q) -> Result<usize, usize>
    where
        K: Borrow<Q>,
    {
        self.keys
            .binary_search_by(|theirs| theirs.borrow().cmp(key))
    }

    /// True if the set has this item.
    pub fn contains<Q: Ord + ?Sized>(&self, key: &Q) -> bool
    where
        K: Borrow<Q>,
    {
        self.find(key).is_ok()
    }

    /// Inserts an item; true if it was new.
    pub fn insert(&mut self, key: K) -> bool {
        let place = self.find(&key);
        if let Err(at) = place {
            self.keys.insert(at, key);
        }
        place.is_err()
    }

    /// Removes an item; true if it was there.
    pub fn remove<Q: Ord + ?Sized>(&mut self, key: &Q) -> bool
    where
        K: Borrow<Q>,
    {
        let place = self.find(key);
        if let Ok(at) = place {
            self.keys.remove(at);
        }
        place.is_ok()
    }
}

impl<K: fmt::Debug> fmt::Debug for Sorted<K> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_set().entries(self).finish()
    }
}

impl<'a, K> IntoIterator for &'a Sorted<K> {
    type Item = &'a K;
    type IntoIter = slice::Iter<'a, K>;

    fn into_iter(self) -> Self::IntoIter {
        self.iter()
    }
}

impl<K> IntoIterator for Sorted<K> {
    type Item = K;
    type IntoIter = vec::IntoIter<K>;

    fn into_iter(self) -> Self::IntoIter {
        self.keys.into_iter()
    }
}

impl<K: Ord> Extend<K> for Sorted<K> {
    fn extend<I: IntoIterator<Item = K>>(&mut self, keys: I) {
        for key in keys {
            self.insert(key);
        }
    }
}

impl<K: Ord> FromIterator<K> for Sorted<K> {
    fn from_iter<I: IntoIterator<Item = K>>(keys: I) -> Self {
        let mut set = Self::new();
        set.extend(keys);
        set
    }
}

impl<K: Ord, const N: usize> From<[K; N]> for Sorted<K> {
    fn from(keys: [K; N]) -> Self {
        keys.into_iter().collect()
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn holds_what_the_standard_library_holds(steps: Vec<(u8, bool)>) {
            let (mut ours, mut theirs) = (Sorted::new(), BTreeSet::new());
            for (key, put) in steps {
                if put {
                    prop_assert_eq!(ours.insert(key), theirs.insert(key));
                } else {
                    prop_assert_eq!(ours.remove(&key), theirs.remove(&key));
                }
                prop_assert_eq!(ours.contains(&key), theirs.contains(&key));
                prop_assert!(ours.iter().eq(theirs.iter()));
            }
            prop_assert_eq!(ours.first(), theirs.first());
        }
    }
}
