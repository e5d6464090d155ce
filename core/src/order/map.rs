//! A map stored as one sorted list.

use std::{
    borrow::Borrow,
    fmt,
    iter::FusedIterator,
    marker::PhantomData,
    ops::{Bound, Index, RangeBounds},
    slice, vec,
};

use serde::{
    Deserialize, Deserializer, Serialize, Serializer,
    de::{MapAccess, Visitor},
};

/// A map in key order, stored as one sorted list: small to compile, quick to iterate and to fill in
/// order. Inserting in the middle moves the entries after it.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Map<K, V> {
    entries: Vec<(K, V)>,
}

impl<K, V> Default for Map<K, V> {
    fn default() -> Self {
        Self::new()
    }
}

impl<K, V> Map<K, V> {
    /// An empty map.
    pub const fn new() -> Self {
        Self {
            entries: Vec::new(),
        }
    }

    /// Number of entries.
    pub fn len(&self) -> usize {
        self.entries.len()
    }

    /// True if the map is empty.
    pub fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// The entries in order.
    pub fn iter(&self) -> Iter<'_, K, V> {
        Iter(self.entries.iter())
    }

    /// The keys in order.
    pub fn keys(&self) -> impl DoubleEndedIterator<Item = &K> + ExactSizeIterator + Clone {
        self.entries.iter().map(|(key, _)| key)
    }

    /// The values in key order.
    pub fn values(&self) -> impl DoubleEndedIterator<Item = &V> + ExactSizeIterator + Clone {
        self.entries.iter().map(|(_, value)| value)
    }

    /// The values in key order, mutable.
    pub fn values_mut(&mut self) -> impl DoubleEndedIterator<Item = &mut V> + ExactSizeIterator {
        self.entries.iter_mut().map(|(_, value)| value)
    }

    /// The entries in order, values mutable.
    pub fn iter_mut(&mut self) -> impl DoubleEndedIterator<Item = (&K, &mut V)> {
        self.entries.iter_mut().map(|(key, value)| (&*key, value))
    }

    /// Removes all entries.
    pub fn clear(&mut self) {
        self.entries.clear();
    }

    /// Keeps the entries for which `want` is true.
    pub fn retain(&mut self, mut want: impl FnMut(&K, &mut V) -> bool) {
        self.entries.retain_mut(|(key, value)| want(key, value));
    }
}

impl<K: Ord, V> Map<K, V> {
    /// The index of this key, or where it would go.
    fn find<Q: Ord + ?Sized>(&self, key: &Q) -> Result<usize, usize>
    where
        K: Borrow<Q>,
    {
        self.entries
            .binary_search_by(|(theirs, _)| theirs.borrow().cmp(key))
    }

    /// The same for a key to insert: most maps are filled in order.
    fn find_to_put(&self, key: &K) -> Result<usize, usize> {
        match self.entries.last() {
            Some((last, _)) if last < key => Err(self.entries.len()),
            _ => self.find(key),
        }
    }

    /// The value of a key.
    pub fn get<Q: Ord + ?Sized>(&self, key: &Q) -> Option<&V>
    where
        K: Borrow<Q>,
    {
        self.get_key_value(key).map(|(_, value)| value)
    }

    /// The value of a key, with the stored key.
    pub fn get_key_value<Q: Ord + ?Sized>(&self, key: &Q) -> Option<(&K, &V)>
    where
        K: Borrow<Q>,
    {
        let at = self.find(key).ok()?;
        let (key, value) = &self.entries[at];
        Some((key, value))
    }

    /// The value of a key, mutable.
    pub fn get_mut<Q: Ord + ?Sized>(&mut self, key: &Q) -> Option<&mut V>
    where
        K: Borrow<Q>,
    {
        let at = self.find(key).ok()?;
        Some(&mut self.entries[at].1)
    }

    /// The value of a key; a default is inserted if there is none.
    pub fn or_default(&mut self, key: K) -> &mut V
    where
        V: Default,
    {
        self.or_insert(key, V::default())
    }

    /// The value of a key; this one is inserted if there is none.
    pub fn or_insert(&mut self, key: K, value: V) -> &mut V {
        let at = self.find_to_put(&key).unwrap_or_else(|at| {
            self.entries.insert(at, (key, value));
            at
        });
        &mut self.entries[at].1
    }

    /// True if the map has this key.
    pub fn contains_key<Q: Ord + ?Sized>(&self, key: &Q) -> bool
    where
        K: Borrow<Q>,
    {
        self.find(key).is_ok()
    }

    /// The entries with keys in this range.
    pub fn range(&self, keys: impl RangeBounds<K>) -> Iter<'_, K, V> {
        let start = self
            .entries
            .partition_point(|(key, _)| match keys.start_bound() {
                Bound::Included(from) => key < from,
                Bound::Excluded(from) => key <= from,
                Bound::Unbounded => false,
            });
        let end = self
            .entries
            .partition_point(|(key, _)| match keys.end_bound() {
                Bound::Included(to) => key <= to,
                Bound::Excluded(to) => key < to,
                Bound::Unbounded => true,
            });
        Iter(self.entries[start..end.max(start)].iter())
    }

    /// Inserts a value and returns the previous one.
    pub fn insert(&mut self, key: K, value: V) -> Option<V> {
        match self.find_to_put(&key) {
            Ok(at) => Some(std::mem::replace(&mut self.entries[at].1, value)),
            Err(at) => {
                self.entries.insert(at, (key, value));
                None
            }
        }
    }

    /// Removes a value.
    pub fn remove<Q: Ord + ?Sized>(&mut self, key: &Q) -> Option<V>
    where
        K: Borrow<Q>,
    {
        let at = self.find(key).ok()?;
        Some(self.entries.remove(at).1)
    }
}

/// The entries of a [`Map`] in order.
pub struct Iter<'a, K, V>(slice::Iter<'a, (K, V)>);

impl<K, V> Clone for Iter<'_, K, V> {
    fn clone(&self) -> Self {
        Self(self.0.clone())
    }
}

impl<'a, K, V> Iterator for Iter<'a, K, V> {
    type Item = (&'a K, &'a V);

    fn next(&mut self) -> Option<Self::Item> {
        self.0.next().map(|(key, value)| (key, value))
    }

    fn size_hint(&self) -> (usize, Option<usize>) {
        self.0.size_hint()
    }
}

impl<K, V> DoubleEndedIterator for Iter<'_, K, V> {
    fn next_back(&mut self) -> Option<Self::Item> {
        self.0.next_back().map(|(key, value)| (key, value))
    }
}

impl<K, V> ExactSizeIterator for Iter<'_, K, V> {}
impl<K, V> FusedIterator for Iter<'_, K, V> {}

impl<'a, K, V> IntoIterator for &'a Map<K, V> {
    type Item = (&'a K, &'a V);
    type IntoIter = Iter<'a, K, V>;

    fn into_iter(self) -> Iter<'a, K, V> {
        self.iter()
    }
}

impl<K, V> IntoIterator for Map<K, V> {
    type Item = (K, V);
    type IntoIter = vec::IntoIter<(K, V)>;

    fn into_iter(self) -> Self::IntoIter {
        self.entries.into_iter()
    }
}

impl<K: Ord, V> Extend<(K, V)> for Map<K, V> {
    fn extend<I: IntoIterator<Item = (K, V)>>(&mut self, entries: I) {
        for (key, value) in entries {
            self.insert(key, value);
        }
    }
}

impl<K: Ord, V> FromIterator<(K, V)> for Map<K, V> {
    fn from_iter<I: IntoIterator<Item = (K, V)>>(entries: I) -> Self {
        let mut map = Self::new();
        map.extend(entries);
        map
    }
}

impl<K: Ord, V, const N: usize> From<[(K, V); N]> for Map<K, V> {
    fn from(entries: [(K, V); N]) -> Self {
        entries.into_iter().collect()
    }
}

impl<K: Ord + Borrow<Q>, Q: Ord + ?Sized, V> Index<&Q> for Map<K, V> {
    type Output = V;

    /// # Panics
    /// If there is no such key.
    fn index(&self, key: &Q) -> &V {
        self.get(key).expect("a key of the map")
    }
}

impl<K: fmt::Debug, V: fmt::Debug> fmt::Debug for Map<K, V> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_map().entries(self).finish()
    }
}

impl<K: Serialize, V: Serialize> Serialize for Map<K, V> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self)
    }
}

impl<'de, K: Deserialize<'de> + Ord, V: Deserialize<'de>> Deserialize<'de> for Map<K, V> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Entries<K, V>(PhantomData<(K, V)>);

        impl<'de, K: Deserialize<'de> + Ord, V: Deserialize<'de>> Visitor<'de> for Entries<K, V> {
            type Value = Map<K, V>;

            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a map")
            }

            fn visit_map<A: MapAccess<'de>>(self, mut access: A) -> Result<Map<K, V>, A::Error> {
                let mut map = Map::new();
                while let Some((key, value)) = access.next_entry()? {
                    map.insert(key, value);
                }
                Ok(map)
            }
        }

        deserializer.deserialize_map(Entries(PhantomData))
    }
}

#[cfg(feature = "cli")]
impl<K: schemars::JsonSchema, V: schemars::JsonSchema> schemars::JsonSchema for Map<K, V> {
    fn inline_schema() -> bool {
        true
    }

    fn schema_name() -> std::borrow::Cow<'static, str> {
        <std::collections::BTreeMap<K, V>>::schema_name()
    }

    fn json_schema(generator: &mut schemars::SchemaGenerator) -> schemars::Schema {
        <std::collections::BTreeMap<K, V>>::json_schema(generator)
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeMap;

    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn maps_as_the_standard_library_does(steps: Vec<(u8, Option<u16>)>) {
            let (mut ours, mut theirs) = (Map::new(), BTreeMap::new());
            for (key, value) in steps {
                match value {
                    Some(value) => prop_assert_eq!(ours.insert(key, value), theirs.insert(key, value)),
                    None => prop_assert_eq!(ours.remove(&key), theirs.remove(&key)),
                }
                prop_assert_eq!(ours.get(&key), theirs.get(&key));
                prop_assert!(ours.iter().eq(theirs.iter()));
            }
            ours.retain(|key, _| key % 2 == 0);
            theirs.retain(|key, _| key % 2 == 0);
            prop_assert!(ours.keys().eq(theirs.keys()) && ours.values().eq(theirs.values()));
            *ours.or_default(7) += 1;
            *theirs.entry(7).or_default() += 1;
            prop_assert_eq!(format!("{ours:?}"), format!("{theirs:?}"));
            prop_assert!(ours.into_iter().eq(theirs));
        }
    }
}
