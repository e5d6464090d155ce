//! A unit swapped for another: what becomes of its pins, and of everything on its way, before anything is
//! changed.

use petgraph::graph::EdgeIndex;

use super::{
    Cell, Paper, Table,
    effects::{Effects, Side, effects},
};
use crate::{
    document::{Device, Document, ElementKind, End, Role, Terminal, folded, natural_cmp},
    ids::{DeviceId, TerminalId, WireId},
    netlist::EdgeOf,
    order::{Map, Sorted, sort_by},
    solve::{Figures, OperatingPoint},
    standards::{drop_limits, wire_table},
};

/// A swap that is thought of.
#[derive(Clone, Copy, Debug)]
pub struct Swap<'d> {
    /// The project as it is.
    pub before: &'d Document,
    /// The project with the new unit, its pins where they were told to go.
    pub after: &'d Document,
    /// The project with the new unit, the old plug pushed in as it stands.
    pub as_it_is: &'d Document,
    /// The device.
    pub device: &'d DeviceId,
    /// By terminal of the old unit, how it was found where it goes; [`GUESSED`] asks to be looked over.
    pub found: &'d Map<TerminalId, &'static str>,
}

/// How a pin was found that is for the same use and has another name.
pub const GUESSED: &str = "same use, other name";

/// What is said of a swap.
#[derive(Clone, Debug, PartialEq)]
pub struct Told {
    /// The paper.
    pub paper: Paper,
    /// A draft of what to write into the log.
    pub draft: String,
}

/// Says what a swap does. Nothing is said if the device is in none of the projects.
pub fn tell(swap: &Swap<'_>) -> Option<Told> {
    let (old, new) = (
        swap.before.devices.get(swap.device)?,
        swap.after.devices.get(swap.device)?,
    );
    let [before, after, as_it_is] =
        [swap.before, swap.after, swap.as_it_is].map(|document| Side::new(document));
    let it = View {
        swap,
        old,
        new,
        sides: [&before, &after],
        wires: on_the_way(swap.device, [&before, &after]),
    };
    let told = effects(&before, &after);
    let mut paper = Paper::new("swap", &format!("{} swapped", old.tag), swap.before);
    paper.text(format!(
        "{}, {}, is taken out; {} comes in. {}",
        old.tag,
        or_unknown(&old.title),
        or_unknown(&new.title),
        match new.source.as_str() {
            "" => "Where the figures of the new unit come from is not given.".into(),
            source => format!("Figures of the new unit: {source}."),
        }
    ));
    paper.caution(
        "A plug that fits says nothing of what its pins do. Compare every pin below with the manuals of both \
         units before power goes on.",
    );
    let moves = it.pins();
    let changed = it.changed_cavities();
    it.plug(&mut paper, &changed, &effects(&after, &as_it_is));
    paper.heading("Pins");
    paper.table(moves.table);
    if moves.is_guessed {
        paper.caution(
            "A pin found by its use alone is a guess: compare it with the manual, and say where it goes.",
        );
    }
    paper.heading("What it takes and what is lost on the way");
    paper.table(it.currents());
    paper.text(it.limits());
    paper.table(it.protectors());
    paper.table(it.wires());
    paper.table(it.contacts());
    paper.text(it.weight());
    say_effects(&mut paper, &told);
    let draft = it.draft(&moves.told, &told);
    Some(Told { paper, draft })
}

fn or_unknown(title: &str) -> &str {
    if title.is_empty() {
        "a unit without a title"
    } else {
        title
    }
}

/// Adds what a change does beyond the unit itself.
fn say_effects(paper: &mut Paper, told: &Effects) {
    paper.heading("Findings");
    lines(paper, "New", "No finding is new.", &told.new);
    lines(paper, "Gone", "No finding goes away.", &told.gone);
    if !told.unjudged.is_empty() {
        lines(paper, "Cannot be judged any more", "", &told.unjudged);
    }
    paper.heading("The aircraft");
    for table in told.tables() {
        paper.table(table.clone());
    }
}

fn lines(paper: &mut Paper, head: &str, none: &str, lines: &[String]) {
    for line in lines {
        paper.text(format!("{head}: {line}"));
    }
    if lines.is_empty() {
        paper.text(none);
    }
}

/// Loads and coils of a device, by edge.
fn loads(device: &DeviceId, side: &Side<'_>) -> Vec<EdgeIndex> {
    let netlist = side.facts.netlist();
    let found = side.facts.document.devices.get(device);
    let elements = found.into_iter().flat_map(|it| &it.elements);
    let takes = elements.filter(|it| matches!(it.is, ElementKind::Load(_) | ElementKind::Coil(_)));
    takes
        .filter_map(|it| netlist.element_edge(device, &it.id))
        .collect()
}

/// Wires that a device's current takes, out and back, in any state; those at its power pins if none flows.
fn on_the_way<'d>(device: &DeviceId, sides: [&Side<'d>; 2]) -> Vec<&'d WireId> {
    let mut all = Sorted::new();
    for side in sides {
        let netlist = side.facts.netlist();
        for load in loads(device, side) {
            for drop in side.facts.points().iter().filter_map(|it| it.drop_to(load)) {
                let edges = drop.out.iter().chain(&drop.back).map(|leg| leg.edge);
                all.extend(edges.filter_map(|edge| match &netlist.graph[edge].of {
                    EdgeOf::Wire(id) => side.facts.document.wires.get_key_value(id).map(|it| it.0),
                    _ => None,
                }));
            }
        }
    }
    let mut all: Vec<&WireId> = all.into_iter().collect();
    let label = |id: &WireId| sides[0].facts.document.wire_label(id);
    sort_by(&mut all, |a, b| natural_cmp(&label(a), &label(b)));
    all
}

/// Where pins go: as a table, and in words for those that move.
struct Moves {
    table: Table,
    told: Vec<String>,
    /// True if one was found by its use alone.
    is_guessed: bool,
}

struct View<'a, 'd> {
    swap: &'a Swap<'d>,
    old: &'d Device,
    new: &'d Device,
    sides: [&'a Side<'d>; 2],
    wires: Vec<&'d WireId>,
}

impl<'d> View<'_, 'd> {
    /// What ends at a terminal of the old unit, and where that end is with the new one; none if it is on
    /// nothing there.
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

    /// Pins of the old unit that do something, and where what is on them goes; then pins of the new unit
    /// that nothing comes to.
    fn pins(&self) -> Moves {
        let columns = &[
            ("cavity", "Pin", ""),
            ("was", "Was", ""),
            ("is", "In the new unit", ""),
            ("wires", "On it", ""),
            ("goes_to", "Goes to", ""),
            ("found", "Found by", ""),
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
                    _ => "nothing: its end is open".into(),
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
                "nothing is wired here".into(),
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

    /// Cavities that something is in, and whose pin does something else in the new unit.
    fn changed_cavities(&self) -> Vec<String> {
        let changed = |old: &Terminal| {
            let new = self.new.terminal(&old.id)?;
            let on_it: Vec<String> = self.ends_at(old).into_iter().map(|(it, _)| it).collect();
            (!is_same_use(old, new) && !on_it.is_empty()).then(|| {
                format!(
                    "{} was {} and is {}: take {} out of it before the plug goes in.",
                    self.old.terminal_label(old),
                    use_of(old),
                    use_of(new),
                    on_it.join(", ")
                )
            })
        };
        self.old.terminals.iter().filter_map(changed).collect()
    }

    /// Says what comes of pushing the old plug in as it stands.
    fn plug(&self, paper: &mut Paper, changed: &[String], as_it_is: &Effects) {
        paper.heading("If the old plug is pushed in as it stands");
        for line in changed {
            paper.caution(line.clone());
        }
        for line in &as_it_is.new {
            paper.caution(format!("As it stands it brings: {line}"));
        }
        if changed.is_empty() && as_it_is.new.is_empty() {
            paper.text(
                "Every pin that something is on does what it did, by the records of both units, and no finding \
                 would come of it beyond those below.",
            );
        }
    }

    /// What the device takes together, the volts lost, and the volts it sees, in each state.
    fn currents(&self) -> Table {
        let columns = &[
            ("state", "State", ""),
            ("before_a", "Before", "A"),
            ("after_a", "After", "A"),
            ("peak_before_a", "Peak before", "A"),
            ("peak_after_a", "Peak after", "A"),
            ("drop_before_v", "Lost before", "V"),
            ("drop_after_v", "Lost after", "V"),
            ("sees_v", "It sees", "V"),
        ];
        let mut table = Table::new("currents", "In each state", columns);
        let steady = self.sides[1].facts.points().iter();
        for now in steady.filter(|it| it.figures == Figures::Continuous) {
            let both =
                |figures: Figures, of: &dyn Fn(&OperatingPoint, EdgeIndex) -> Option<f64>| {
                    self.sides.map(|side| {
                        let mut points = side.facts.points().iter();
                        let point =
                            points.find(|it| it.state == now.state && it.figures == figures)?;
                        let edges = loads(self.swap.device, side).into_iter();
                        let values = edges.filter_map(|edge| of(point, edge));
                        values.reduce(|a, b| a + b)
                    })
                };
            let amps = |point: &OperatingPoint, edge| point.edge_amps(edge).map(f64::abs);
            let [before, after] = both(Figures::Continuous, &amps);
            let [peak_before, peak_after] = both(Figures::Peak, &amps);
            let [drop_before, drop_after] = self.sides.map(|side| self.most_lost(side, now));
            let edges = loads(self.swap.device, self.sides[1]).into_iter();
            let sees = edges.filter_map(|edge| Some(now.across_v(edge)?.abs()));
            let runs = [before, after, peak_before, peak_after];
            if runs.into_iter().flatten().all(|amps| amps < NO_AMPS) {
                continue;
            }
            let title = self.swap.after.record_label("state", now.state.as_str());
            table.rows.push(vec![
                Cell::text(title),
                Cell::number(before, 2),
                Cell::number(after, 2),
                Cell::number(peak_before, 2),
                Cell::number(peak_after, 2),
                Cell::number(drop_before, 2),
                Cell::number(drop_after, 2),
                Cell::number(sees.reduce(f64::min), 2),
            ]);
        }
        table
    }

    /// The most volts that wires and contacts lose to any load of the device, in the state of a point.
    fn most_lost(&self, side: &Side<'_>, at: &OperatingPoint) -> Option<f64> {
        let mut points = side.facts.points().iter();
        let point = points.find(|it| (&it.state, it.figures) == (&at.state, at.figures))?;
        let edges = loads(self.swap.device, side).into_iter();
        let drops = edges.filter_map(|edge| point.drop_to(edge));
        drops
            .map(|it| it.wire_drop_v + it.contact_drop_v)
            .reduce(f64::max)
    }

    fn limits(&self) -> String {
        let nominal_v = self.swap.after.project.nominal_v;
        match drop_limits::drop_limit(nominal_v) {
            Some(limit) => format!(
                "Allowed to be lost between bus and equipment: {} V all the time, {} V now and then ({}). Amperes \
                 are solved, with all that runs in the state.",
                limit.continuous_v,
                limit.intermittent_v,
                drop_limits::SOURCE.document
            ),
            None => format!("No limit of lost volts is published for a {nominal_v} V system."),
        }
    }

    /// Protectors between the device and any source.
    fn protectors(&self) -> Table {
        let columns = &[
            ("protector", "Protector", ""),
            ("rating_a", "Rating", "A"),
            ("before_a", "Carries before", "A"),
            ("after_a", "After", "A"),
            ("peak_after_a", "Peak after", "A"),
            ("percent", "Of rating", "%"),
        ];
        let mut table = Table::new("protectors", "Protectors on its way", columns);
        let of = |side: &Side<'_>| -> Vec<EdgeOf> {
            let netlist = side.facts.netlist();
            let loads = loads(self.swap.device, side).into_iter();
            let feeds = loads.flat_map(|edge| side.facts.feeds().of_edge(netlist, edge));
            let edges = feeds.flat_map(|feed| feed.protectors);
            edges.map(|edge| netlist.graph[edge].of.clone()).collect()
        };
        let mut all: Vec<EdgeOf> = Vec::new();
        for it in self.sides.map(of).into_iter().flatten() {
            if !all.contains(&it) {
                all.push(it);
            }
        }
        for it in all {
            let edge = |side: &Side<'_>| {
                let graph = &side.facts.netlist().graph;
                graph.edge_indices().find(|edge| graph[*edge].of == it)
            };
            let most = |side: &Side<'_>, figures: Figures| {
                let edge = edge(side)?;
                let points = side
                    .facts
                    .points()
                    .iter()
                    .filter(|it| it.figures == figures);
                let amps = points.filter_map(|point| point.edge_amps(edge));
                amps.map(f64::abs).reduce(f64::max)
            };
            let [before, after] = self.sides;
            let rating_a =
                edge(after).and_then(|edge| match after.facts.netlist().graph[edge].kind {
                    crate::netlist::EdgeKind::Protector { rating_a, .. } => Some(rating_a),
                    _ => None,
                });
            let now = most(after, Figures::Continuous);
            table.rows.push(vec![
                Cell::text(super::edge_label(self.swap.after, &it)),
                Cell::number(rating_a, 1),
                Cell::number(most(before, Figures::Continuous), 2),
                Cell::number(now, 2),
                Cell::number(most(after, Figures::Peak), 2),
                Cell::number(now.zip(rating_a).map(|(amps, most)| 100.0 * amps / most), 0),
            ]);
        }
        table
    }

    fn most_a(&self, id: &WireId) -> [Option<f64>; 2] {
        self.sides.map(|side| {
            let at = side.facts.netlist().wire(id)?;
            Some(side.facts.most_steady_a(at.edge))
        })
    }

    fn wires(&self) -> Table {
        let columns = &[
            ("wire", "Wire", ""),
            ("gauge_awg", "Gauge", "AWG"),
            ("length_m", "Length", "m"),
            ("before_a", "Carries before", "A"),
            ("after_a", "After", "A"),
            ("good_for_a", "Good for, in a full bundle", "A"),
        ];
        let mut table = Table::new("on_the_way", "Wires on its way", columns);
        for id in &self.wires {
            let document = self.swap.after;
            let Some(wire) = document.wires.get(*id) else {
                continue;
            };
            let row = wire_table::find(wire.gauge_awg);
            let good_for = row.zip(wire.insulation_c).and_then(|(row, c)| row.amps(c));
            let [before, after] = self.most_a(id);
            table.rows.push(vec![
                Cell::text(document.wire_label(id)),
                Cell::text(wire.gauge_awg.to_string()),
                Cell::number(document.wire_length_m(wire), 2),
                Cell::number(before, 2),
                Cell::number(after, 2),
                Cell::number(good_for, 1),
            ]);
        }
        table
    }

    /// Contacts that those wires end in.
    fn contacts(&self) -> Table {
        let columns = &[
            ("contact", "Contact", ""),
            ("connector", "Connector", ""),
            ("before_a", "Carries before", "A"),
            ("after_a", "After", "A"),
            ("most_a", "Made for", "A"),
        ];
        let mut table = Table::new("contacts", "Contacts on its way", columns);
        let document = self.swap.after;
        for id in &self.wires {
            let Some(wire) = document.wires.get(*id) else {
                continue;
            };
            for end in [&wire.from, &wire.to] {
                let End::Terminal(device, terminal) = end else {
                    continue;
                };
                let device = document.devices.get(device);
                let found = device.and_then(|it| {
                    let connector = it.terminal(terminal)?.connector.as_ref()?;
                    it.connector(connector)
                });
                let Some(connector) = found else { continue };
                let [before, after] = self.most_a(id);
                table.rows.push(vec![
                    Cell::text(document.end_label(end)),
                    Cell::text(&connector.style),
                    Cell::number(before, 2),
                    Cell::number(after, 2),
                    Cell::number(connector.contact_a, 1),
                ]);
            }
        }
        table
    }

    fn weight(&self) -> String {
        let kg = |it: &Device| {
            it.weight_kg
                .map_or("not given".into(), |kg| format!("{kg:.2} kg"))
        };
        let both = self.old.weight_kg.zip(self.new.weight_kg);
        let change = both.map_or(String::new(), |(old, new)| {
            format!(", {:+.2} kg", new - old)
        });
        format!(
            "Weight: {} before, {} after{change}.",
            kg(self.old),
            kg(self.new)
        )
    }

    /// The most that the device takes continuously in any state, before and after, A.
    fn most_taken(&self) -> [f64; 2] {
        self.sides.map(|side| {
            let edges = loads(self.swap.device, side).into_iter();
            edges.map(|edge| side.facts.most_steady_a(edge)).sum()
        })
    }

    fn draft(&self, moves: &[String], told: &Effects) -> String {
        let [before, after] = self.most_taken();
        let mut parts = vec![
            format!(
                "{}: {} taken out, {} fitted.",
                self.old.tag,
                or_unknown(&self.old.title),
                or_unknown(&self.new.title)
            ),
            format!("Takes up to {after:.2} A continuously as solved; was {before:.2} A."),
            self.weight(),
        ];
        match moves.is_empty() {
            true => parts.push("Every wire stays on its pin.".into()),
            false => parts.push(format!(
                "Moved: {}. Ring these out again.",
                moves.join("; ")
            )),
        }
        match told.new.is_empty() {
            true => parts.push("No new finding.".into()),
            false => parts.push(format!("New findings: {}.", told.new.join("; "))),
        }
        parts.join(" ")
    }
}

/// Currents under this are none, A.
const NO_AMPS: f64 = 1e-3;

/// True if two pins do the same, by name and use.
fn is_same_use(a: &Terminal, b: &Terminal) -> bool {
    a.role == b.role && folded(a.name.trim()) == folded(b.name.trim())
}

/// What a pin does: its name, with its use where the name says little.
fn use_of(terminal: &Terminal) -> String {
    let role = terminal.role.words();
    match terminal.name.trim() {
        "" => role.into(),
        name => format!("{name} ({role})"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        edit::{match_cavities, match_pins, swap},
        testing::document,
    };

    /// A charging port on a breaker of 5 A and 18 AWG, behind a pair of connectors.
    const PORT: &str = "
        target 60
        battery BT1 ah=16
        alternator G1 40
        bus MBUS CB13=5
        ground GB1 STUD T1
        mated J311/P311 1 2
        load USB2 2.5 peak=3.13
        wire A BT1.+ MBUS.STUD 8 0.2m
        wire B G1.B MBUS.STUD 8 0.5m
        wire P30A18 MBUS.CB13 J311.J311-1 18 2.9m
        wire P30B18 J311.P311-1 USB2.+ 18 0.3m
        wire P30C18N USB2.- J311.P311-2 18 0.3m
        wire P30D18N J311.J311-2 GB1.T1 18 2.6m
        wire D GB1.STUD BT1.- 8 0.2m
        wire E G1.CASE GB1.STUD 8 0.2m
        state CRUISE running
        state OUT after=nothing";

    /// What is told when a device of one text becomes that of another.
    fn told(before: &str, device: &str, unit: &str) -> Told {
        let before = document(before);
        let id = device.into();
        let unit = document(unit).devices.remove("NEW").expect("it");
        let pins = match_pins(&before, &id, &unit);
        let found = pins.iter().map(|it| (it.old.clone(), it.by.words()));
        let cavities = match_cavities(&before.devices[device], &unit);
        let made = |pins: &[_]| {
            let change = swap(&before, &id, unit.clone(), pins).expect("it fits");
            change.applied(&before).expect("made for it")
        };
        tell(&Swap {
            before: &before,
            after: &made(&pins),
            as_it_is: &made(&cavities),
            device: &id,
            found: &found.collect(),
        })
        .expect("the device is there")
    }

    fn rows(told: &Told, table: &str) -> Vec<Vec<String>> {
        let table = told.paper.tables().find(|it| it.name == table);
        let rows = table.into_iter().flat_map(|it| &it.rows);
        rows.map(|row| row.iter().map(Cell::show).collect())
            .collect()
    }

    #[test]
    fn a_port_with_three_times_the_power_is_told_down_to_its_contacts() {
        let told = told(PORT, "USB2", "load NEW 7.5 peak=9.4");
        let pins = rows(&told, "pins");
        assert_eq!(pins.len(), 2, "both that are wired: {pins:?}");
        assert!(told.draft.contains("Every wire stays on its pin."));
        let cruise = &rows(&told, "currents")[0];
        let number = |text: &String| text.parse::<f64>().expect("a number");
        let times = number(&cruise[2]) / number(&cruise[1]);
        assert!(
            (3.0..3.4).contains(&times),
            "constant power takes more as the volts fall: {cruise:?}"
        );
        // 6.1 m of 18 AWG (FAA AC 43.13-1B Table 11-9: 6.23 ohm a thousand feet) lose over half a volt at 7.5 A.
        assert!(
            number(&cruise[6]) > 0.5 && number(&cruise[5]) < 0.5,
            "{cruise:?}"
        );
        let breaker = &rows(&told, "protectors")[0];
        assert_eq!(breaker[1], "5.0");
        assert!(number(&breaker[5]) > 100.0, "{breaker:?}");
        let wires: Vec<String> = rows(&told, "on_the_way")
            .into_iter()
            .map(|row| row[0].clone())
            .collect();
        for wire in ["P30A18", "P30B18", "P30C18N", "P30D18N"] {
            assert!(wires.iter().any(|it| it == wire), "{wires:?}");
        }
        assert_eq!(rows(&told, "contacts").len(), 4);
        let out = &rows(&told, "endurance_change")[0];
        assert!(number(&out[3]) < 0.0, "{out:?}");
        let text = told.paper.to_text();
        for words in [
            "Protector smaller than its load",
            "Voltage drop over the limit",
            "Weight: not given",
        ] {
            assert!(text.contains(words), "no {words:?} in {text}");
        }
        assert!(told.draft.contains("Protector smaller than its load"));
    }

    #[test]
    fn a_pin_that_was_a_dimmer_and_is_a_power_input_is_a_caution_before_the_plug_goes_in() {
        let told = told(
            "bus MBUS CB4=5 CB7=2
             battery BT1
             ground GB1 STUD T1
             unit COM1 J105-1:power_in:POWER J105-2:input_power:DIMMER J105-9:return:GROUND
             inside COM1 load J105-1 J105-9 0.35
             wire A BT1.+ MBUS.STUD 8 0.2m
             wire P4A20 MBUS.CB4 COM1.J105-1 20 1m
             wire L7A22 MBUS.CB7 COM1.J105-2 22 1m
             wire P4B20N COM1.J105-9 GB1.T1 20 1m
             wire D GB1.STUD BT1.- 8 0.2m",
            "COM1",
            "unit NEW J1-1:power_in:POWER J1-2:power_in:POWER J1-9:return:GROUND
             inside NEW bar J1-1 J1-2
             inside NEW load J1-1 J1-9 1.6",
        );
        let text = told.paper.to_text();
        assert!(
            text.contains("COM1 J105-2 was DIMMER (input, works powered) and is POWER (power in): take L7A22 out"),
            "{text}"
        );
        let pins = rows(&told, "pins");
        let dimmer = pins.iter().find(|row| row[3] == "L7A22").expect("it");
        let dimmer: Vec<&str> = dimmer.iter().map(String::as_str).collect();
        assert_eq!(
            dimmer,
            [
                "COM1 J105-2",
                "DIMMER (input, works powered)",
                "POWER (power in)",
                "L7A22",
                "nothing: its end is open",
                "nothing alike"
            ]
        );
        assert_eq!(crate::edit::By::Role.words(), GUESSED);
        let bare = pins
            .iter()
            .find(|row| row[3] == "nothing is wired here")
            .expect("the second power pin");
        assert_eq!(bare[0], "COM1 J105-2");
        assert!(
            told.draft.contains("L7A22 from COM1 J105-2"),
            "{}",
            told.draft
        );
    }

    #[test]
    fn what_is_not_there_has_nothing_told_of_it() {
        let document = document(PORT);
        let swap = Swap {
            before: &document,
            after: &document,
            as_it_is: &document,
            device: &"NONE".into(),
            found: &Map::new(),
        };
        assert!(tell(&swap).is_none());
    }
}
