//! How pins are mapped, and what happens if the old plug is connected unchanged.

use super::view::{GUESSED, View};
use crate::{
    document::{Document, End, Role, Terminal, folded},
    order::Sorted,
    reports::{Cell, Paper, Table},
};

/// The mapping of pins as a table, and in words for those that move.
pub(super) struct Moves {
    pub(super) table: Table,
    pub(super) told: Vec<String>,
    /// True if one was matched by function alone.
    pub(super) is_guessed: bool,
}

impl<'d> View<'_, 'd> {
    /// The wires and shields at a terminal of the old unit, and their end with the new unit; none if it is left open.
    fn ends_at(&self, terminal: &Terminal) -> Vec<(String, Option<&'d End>)> {
        let at = End::Terminal(self.swap.device.clone(), terminal.id.clone());
        let (before, after) = (self.swap.before, self.swap.after);
        let mut all = Vec::new();
        for (id, was) in &before.wires {
            let Some(now) = after.wires.get(id) else {
                continue;
            };
            for (was, now) in [(&was.from, &now.from), (&was.to, &now.to)] {
                if *was == at {
                    let now = Some(now).filter(|it| **it != End::Open);
                    all.push((before.wire_label(id), now));
                }
            }
        }
        for (id, was) in &before.cables {
            let shield = |document: &'d Document| document.cables.get(id)?.shield.as_ref();
            let (Some(was), Some(now)) = (was.shield.as_ref(), shield(after)) else {
                continue;
            };
            for (was, now) in [(&was.from, &now.from), (&was.to, &now.to)] {
                if was.at() == Some(&at) {
                    let label = before.record_label("cable", id.as_str());
                    all.push((format!("shield of {label}"), now.at()));
                }
            }
        }
        all
    }

    /// Used pins of the old unit and where their wires go, then pins of the new unit without a wire.
    pub(super) fn pins(&self) -> Moves {
        let columns = &[
            ("cavity", "Pin", ""),
            ("was", "Was", ""),
            ("is", "In the new unit", ""),
            ("wires", "Wire", ""),
            ("goes_to", "Goes to", ""),
            ("found", "Matched by", ""),
        ];
        let mut table = Table::new("pins", "Pins", columns);
        let mut told = Vec::new();
        let mut is_guessed = false;
        let mut reached = Sorted::new();
        for old in &self.old.terminals {
            let same = self.new.terminal(&old.id);
            let ends = self.ends_at(old);
            if ends.is_empty() && same.is_some_and(|new| is_same_use(old, new)) {
                continue;
            }
            let is_now = same.map_or("no such pin".into(), use_of);
            let found = self.swap.found.get(&old.id).copied().unwrap_or_default();
            let row = |wire: &str, goes: String, found: &str| {
                [
                    self.old.terminal_label(old),
                    use_of(old),
                    is_now.clone(),
                    wire.into(),
                    goes,
                    found.into(),
                ]
                .map(Cell::text)
                .to_vec()
            };
            if ends.is_empty() {
                table.rows.push(row("", String::new(), ""));
            }
            for (wire, now) in ends {
                let goes = match now {
                    Some(End::Terminal(_, id)) => {
                        reached.insert(id.clone());
                        self.new.terminal(id).map_or(String::new(), |it| {
                            format!("{}, {}", self.new.terminal_label(it), use_of(it))
                        })
                    }
                    _ => "nothing: left open".into(),
                };
                let stays = matches!(now, Some(End::Terminal(_, id)) if *id == old.id);
                if !stays {
                    let from = self.old.terminal_label(old);
                    told.push(format!("{wire} from {from} ({}) to {goes}", use_of(old)));
                }
                is_guessed |= found == GUESSED;
                table.rows.push(row(&wire, goes, found));
            }
        }
        let is_bare = |it: &&Terminal| {
            it.role != Role::Spare
                && !reached.contains(&it.id)
                && self
                    .old
                    .terminal(&it.id)
                    .is_none_or(|old| !is_same_use(old, it))
        };
        for new in self.new.terminals.iter().filter(is_bare) {
            let cells = [
                self.new.terminal_label(new),
                String::new(),
                use_of(new),
                "no wire".into(),
                String::new(),
                String::new(),
            ];
            table.rows.push(cells.map(Cell::text).to_vec());
        }
        Moves {
            table,
            told,
            is_guessed,
        }
    }

    /// Wired cavities whose pin has another function in the new unit.
    pub(super) fn changed_cavities(&self) -> Vec<String> {
        let changed = |old: &Terminal| {
            let new = self.new.terminal(&old.id)?;
            let on_it: Vec<String> = self.ends_at(old).into_iter().map(|(it, _)| it).collect();
            (!is_same_use(old, new) && !on_it.is_empty()).then(|| {
                format!(
                    "{} was {} and is {}: remove {} before you connect the plug.",
                    self.old.terminal_label(old),
                    use_of(old),
                    use_of(new),
                    on_it.join(", ")
                )
            })
        };
        self.old.terminals.iter().filter_map(changed).collect()
    }
}

/// Adds what happens if the old plug is connected unchanged.
pub(super) fn plug(paper: &mut Paper, changed: &[String], as_it_is: &[String]) {
    paper.heading("If the old plug is connected unchanged");
    for line in changed {
        paper.caution(line.clone());
    }
    for line in as_it_is {
        paper.caution(format!("Connected unchanged: {line}"));
    }
    if changed.is_empty() && as_it_is.is_empty() {
        paper.text(
                "By the records of both units every wired pin keeps its function, and no finding is added beyond those \
                 below.",
            );
    }
}

/// True if two pins have the same name and function.
fn is_same_use(a: &Terminal, b: &Terminal) -> bool {
    a.role == b.role && folded(a.name.trim()) == folded(b.name.trim())
}

/// The function of a pin: its name and role.
fn use_of(terminal: &Terminal) -> String {
    let role = terminal.role.words();
    match terminal.name.trim() {
        "" => role.into(),
        name => format!("{name} ({role})"),
    }
}
