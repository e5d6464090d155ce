//! Items by the number of their group.

/// Items by group: one list, and where each group begins in it.
#[derive(Clone, Debug, Default)]
pub struct Grouped<T> {
    all: Vec<T>,
    first: Vec<u32>,
}

impl<T: Copy> Grouped<T> {
    /// Sorts items into this many groups; items of a group keep their order.
    pub fn new(groups: usize, things: impl Iterator<Item = (usize, T)> + Clone) -> Self {
        let mut first = vec![0; groups + 1];
        for (group, _) in things.clone() {
            first[group + 1] += 1;
        }
        for group in 0..groups {
            first[group + 1] += first[group];
        }
        let mut next = first.clone();
        // The initial value does not matter: each slot is written once.
        let mut all: Vec<T> = things.clone().map(|(_, thing)| thing).collect();
        for (group, thing) in things {
            let at = &mut next[group];
            all[*at as usize] = thing;
            *at += 1;
        }
        Self { all, first }
    }

    /// The items of a group.
    pub fn of(&self, group: usize) -> &[T] {
        let [from, to] = [0, 1].map(|after| self.first[group + after] as usize);
        &self.all[from..to]
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::Grouped;

    proptest! {
        #[test]
        fn a_group_holds_what_was_given_it_in_that_order(things: Vec<(u8, u16)>) {
            let numbered = things.iter().map(|(group, thing)| (usize::from(*group), *thing));
            let grouped = Grouped::new(256, numbered.clone());
            for group in 0..256 {
                let given: Vec<_> = (numbered.clone())
                    .filter_map(|(of, thing)| (of == group).then_some(thing))
                    .collect();
                prop_assert_eq!(grouped.of(group), &given);
            }
        }
    }
}
