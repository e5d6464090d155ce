//! A feed is moved from what the master switches to what is always live: to the battery bus, to the battery side of a
//! contactor, to the line side of a switch.

use loomwright_core::{
    document::{Bar, BarUse, Device, ElementKind, End},
    ids::{DeviceId, TerminalId},
    netlist::{EdgeKind, Netlist, Through},
};

use super::walk::{Edit, Mistake, Wiring, bars, protector, switched};

/// What is live with every switch and contact open.
struct Live {
    netlist: Netlist,
    reached: Vec<bool>,
}

impl Live {
    fn of(wiring: &Wiring<'_>) -> Self {
        let netlist = Netlist::new(wiring.document);
        let groups = netlist.groups(Through::WIRES.and(Through::MATES).and(Through::PROTECTORS));
        let posts = netlist
            .graph
            .edge_indices()
            .filter(|it| matches!(netlist.graph[*it].kind, EdgeKind::Battery { .. }));
        let posts: Vec<_> = posts.map(|it| groups.of(netlist.ends(it).0)).collect();
        let nodes = netlist.graph.node_indices();
        let reached = nodes.map(|it| posts.contains(&groups.of(it))).collect();
        Self { netlist, reached }
    }

    fn is_at(&self, id: &DeviceId, terminal: &TerminalId) -> bool {
        let node = self.netlist.terminal(id, terminal);
        node.is_some_and(|it| self.reached[it.index()])
    }
}

fn bus(device: &Device) -> Option<&Bar> {
    bars(device).find(|it| it.used_as == BarUse::Bus)
}

pub fn make(wiring: &Wiring<'_>) -> Vec<Mistake> {
    let live = Live::of(wiring);
    let mut all = Vec::new();
    let hot = wiring.document.devices.iter().find_map(|(id, device)| {
        let bar = bus(device)?.terminals.first()?;
        live.is_at(id, bar).then_some((id, bar))
    });
    for (id, device, element) in wiring.elements() {
        if let (Some((line, load)), Some(hot)) = (protector(element), hot)
            && bus(device).is_some_and(|bar| bar.terminals.contains(line))
            && !live.is_at(id, line)
        {
            all.extend(to_hot_bus(wiring, (id, device, load), hot));
        }
        for [a, b] in switched(element) {
            let (hot, cold) = match [a, b].map(|it| live.is_at(id, it)) {
                [true, false] => (a, b),
                [false, true] => (b, a),
                _ => continue,
            };
            let [hot, cold] = [hot, cold].map(|it| End::Terminal(id.clone(), it.clone()));
            // All of them together: see `bypassed`.
            if wiring.wires_at(&cold).len() < 2 {
                continue;
            }
            for (wire, which) in wiring.wires_at(&cold) {
                let edit = Edit::of(wiring).moved(wire, *which, hot.clone());
                all.extend(edit.made(format!("{wire}: {cold} to {hot}")));
            }
        }
    }
    all
}

/// The wires of a breaker go to one of the same rating that is added to the always-live bus.
fn to_hot_bus(
    wiring: &Wiring<'_>,
    (id, device, load): (&DeviceId, &Device, &TerminalId),
    (hot, bar): (&DeviceId, &TerminalId),
) -> Option<Mistake> {
    let mut terminal = device.terminal(load)?.clone();
    let mut element = device
        .elements
        .iter()
        .find(|it| protector(it).is_some_and(|(_, it)| it == load))?
        .clone();
    let added = TerminalId::new(format!("added-{load}"));
    terminal.id = added.clone();
    terminal.connector = None;
    element.id = format!("added-{}", element.id).as_str().into();
    if let ElementKind::Protector(it) = &mut element.is {
        (it.line, it.load) = (bar.clone(), added.clone());
    }
    let wires = wiring.wires_at(&End::Terminal(id.clone(), load.clone()));
    if wires.is_empty() {
        return None;
    }
    let mut edit = Edit::of(wiring).device(hot, |it| {
        it.terminals.push(terminal);
        it.elements.push(element);
    });
    for (wire, which) in wires {
        edit = edit.moved(wire, *which, End::Terminal(hot.clone(), added.clone()));
    }
    edit.made(format!("what {id}/{load} feeds goes to {hot}"))
}
