//! Things by the number of the group they belong to.

/// Things by group: one list, and where each group's part of it begins.
#[derive(Clone, Debug, Default)]
pub struct Grouped<T> {
    all: Vec<T>,
    first: Vec<u32>,
}

impl<T: Copy> Grouped<T> {
    /// Sorts things into this many groups; those of a group stay in the order given.
    pub fn new(groups: usize, things: impl Iterator<Item = (usize, T)> + Clone) -> Self {
        let mut first = vec![0; groups + 1];
        for (group, _) in things.clone() {
            first[group + 1] += 1;
        }
        for group in 0..groups {
            first[group + 1] += first[group];
        }
        let mut next = first.clone();
        // Anything will do to begin with: each place is written once.
        let mut all: Vec<T> = things.clone().map(|(_, thing)| thing).collect();
        for (group, thing) in things {
            let at = &mut next[group];
            all[*at as usize] = thing;
            *at += 1;
        }
        Self { all, first }
    }

    /// What is in a group.
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
