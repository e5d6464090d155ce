//! Suspects that no drawing shows: contacts that should not be, joints that are loose, headsets,
//! what goes through the air. How likely each is before any test is a judgment, no source.

use petgraph::graph::{EdgeIndex, NodeIndex};

use super::{
    guide::Guide,
    names::{far_end, name},
    suspect::{Fault, Hear, Onto, Suspect, hang_clear},
};
use crate::{
    analysis::{
        return_graph::{role, with_audio},
        shared_returns::has_audio,
    },
    document::{End, JackUse, Role, ShieldEnd, WireEnd},
    ids::DeviceId,
    netlist::{AtNode, BOND_OHM, EdgeKind, EdgeOf, Point},
    solve::resistance::edge_ohm,
};

impl<'a> Guide<'a> {
    /// Everything that no drawing shows.
    pub fn hidden(&self) -> Vec<Suspect> {
        let mut all = Vec::new();
        if self.hear != Hear::Squelch {
            for jack in self.jacks() {
                all.extend(self.touching_jack(jack));
                all.extend(self.open_low(jack));
                all.extend(self.headset(jack));
            }
            all.extend(self.touching_shields());
        }
        all.extend(self.joints());
        all.extend(self.radios().into_iter().map(|it| self.air(it)));
        all.extend(self.p_leads());
        all.retain(|it| it.sources != 0);
        all
    }

    fn touching_jack(&self, (id, jack, sleeve): Jack<'a>) -> Option<Suspect> {
        let device = self.document.devices.get(id)?;
        let place = device
            .place
            .as_ref()
            .filter(|_| jack.isolated != Some(false));
        let metal = match place.and_then(|it| Some((it, self.document.places.get(it)?))) {
            Some((_, place)) if place.conductive == Some(false) => return None,
            Some((id, _)) => self.document.record_label("place", id.as_str()),
            None => "the metal around it".into(),
        };
        let way = self.way_to_metal(sleeve, &self.contacts(&Fault::Jack(id.clone())))?;
        let tag = &device.tag;
        let (drawn, odds) = match jack.isolated {
            Some(true) => ("drawn isolated", 0.05),
            _ => ("not set whether it is isolated", 0.1),
        };
        Some(Suspect {
            at: vec![EdgeOf::Element(id.clone(), "jack".into(), 0)],
            test: hang_clear(tag),
            if_changed: format!("fit insulating washers, a shoulder washer in the hole, to {tag}"),
            meter: self.barrel(id, &way),
            path: way,
            touches: Some(sleeve),
            seats: self.heard_at([id].into_iter()),
            ..self.suspect(
                Fault::Jack(id.clone()),
                odds,
                format!("{tag}, {drawn}: its body touches {metal}"),
            )
        })
    }

    /// What to read from a jack's barrel to bare metal: the path, not the loop.
    pub fn barrel(&self, id: &DeviceId, way: &[EdgeIndex]) -> String {
        let tag = self.tag(id);
        let places = &self.document.places;
        let mut at = self
            .document
            .devices
            .get(id)
            .and_then(|it| it.place.as_ref());
        let (mut ohm, mut path) = (BOND_OHM, format!("the body of {tag}"));
        // Each place once: a file may bond places in a circle.
        for _ in 0..places.len() {
            let Some((place, to)) = at.and_then(|id| Some((id, places.get(id)?))) else {
                break;
            };
            if to.bonded_to.is_none() {
                break;
            }
            ohm += to.bond_ohm.unwrap_or(BOND_OHM);
            path += &format!(", {}", name(self.document, &EdgeOf::Bond(place.clone())));
            at = to.bonded_to.as_ref();
        }
        format!(
            "barrel of {tag} to bare airframe, headset and audio plug pulled. Right: open, 100 \
             kΩ or more. Wrong: about {:.1} mΩ plus the meter's leads, by {path}. With the audio \
             plug in, the wiring alone reads about {:.0} mΩ, by {}: that says nothing",
            ohm * 1e3,
            self.ohm(way) * 1e3,
            self.names(way)
        )
    }

    fn ohm(&self, way: &[EdgeIndex]) -> f64 {
        let graph = &self.noise.point.netlist().graph;
        let at_c = self.document.project.conductor_c;
        way.iter()
            .filter_map(|it| edge_ohm(&graph[*it].kind, at_c))
            .sum()
    }

    fn names(&self, way: &[EdgeIndex]) -> String {
        let mut names: Vec<_> = way.iter().map(|it| self.name(*it)).collect();
        names.dedup();
        names.join(" - ")
    }

    fn open_low(&self, (id, _, sleeve): Jack<'a>) -> Option<Suspect> {
        let low = self.conductor(sleeve);
        let unit = self.tag(self.unit_at(sleeve)?);
        let tag = self.tag(id);
        Some(Suspect {
            at: low.iter().map(|edge| self.of(*edge).clone()).collect(),
            test: format!("measure ohms along the audio low of {tag}"),
            if_changed: "find the open joint in the audio low and make it again".into(),
            meter: format!(
                "sleeve of {tag} to its audio low at the plug of {unit}. Right: about {:.2} Ω, \
                 and steady while you move the wire. Wrong: open, or it jumps",
                self.ohm(&low)
            ),
            path: low.clone(),
            seats: self.heard_at([id].into_iter()),
            ..self.suspect(
                Fault::Low(id.clone()),
                0.02 + 0.002 * low.len() as f64,
                format!("audio low of {tag}: {}", self.names(&low)),
            )
        })
    }

    fn headset(&self, (id, jack, _): Jack<'a>) -> Option<Suspect> {
        let tag = self.tag(id);
        (jack.used_for == JackUse::Phones).then(|| Suspect {
            test: format!("plug the headset of {tag} in at another seat"),
            if_changed: "check its plug and cord, or replace it".into(),
            meter: "none: a second headset is the test".into(),
            seats: self.heard_at([id].into_iter()),
            ..self.suspect(
                Fault::Headset(id.clone()),
                0.04,
                format!("the headset at {tag}, its cord or plug"),
            )
        })
    }

    /// Shields of audio cables, cut back at one end: that end may touch.
    fn touching_shields(&self) -> Vec<Suspect> {
        let netlist = self.noise.point.netlist();
        let audio = with_audio(self.document, netlist, &self.conductors);
        let mut all = Vec::new();
        for (id, cable) in &self.document.cables {
            let Some(shield) = &cable.shield else {
                continue;
            };
            let carries = |wire: &crate::ids::WireId| {
                let at = netlist.wire(wire);
                at.is_some_and(|it| audio.contains(&self.conductors.of(it.ends[0])))
            };
            let end = match (&shield.from, &shield.to) {
                (ShieldEnd::Floating, ShieldEnd::Floating) => continue,
                (ShieldEnd::Floating, _) => WireEnd::From,
                (_, ShieldEnd::Floating) => WireEnd::To,
                _ => continue,
            };
            if !cable.wires.iter().any(carries) {
                continue;
            }
            let Some(node) = netlist.shield_end(id, end) else {
                continue;
            };
            let Some(way) = self.way_to_metal(node, &[]) else {
                continue;
            };
            let far = far_end(self.document, id, end);
            let jacks = match &far {
                Some(End::Terminal(device, _)) => {
                    self.jacks().into_iter().find(|it| it.0 == device)
                }
                _ => None,
            };
            let of = EdgeOf::ShieldEnd(id.clone(), end);
            let label = name(self.document, &of);
            all.push(Suspect {
                at: vec![EdgeOf::Shield(id.clone())],
                test: format!("insulate {label} again and listen"),
                if_changed: "cut the shield back there and put sleeving over it".into(),
                meter: format!(
                    "shield of {} to bare airframe, audio plug pulled. Right: open, 100 kΩ or \
                     more. Wrong: under 1 Ω, by {label}",
                    cable.label
                ),
                path: way,
                touches: Some(node),
                seats: self.heard_at(jacks.iter().map(|it| it.0)),
                ..self.suspect(
                    Fault::Part(of),
                    0.03,
                    format!("{label}, drawn cut back, touches metal"),
                )
            });
        }
        all
    }

    /// Joints in the ground paths of running units with audio, from the unit's pin to the battery.
    fn joints(&self) -> Vec<Suspect> {
        let mut all: Vec<Suspect> = Vec::new();
        for unit in self.units() {
            for (at, edges) in self.ground_path(unit) {
                let fault = Fault::Joint(at.clone());
                if let Some(known) = all.iter_mut().find(|it| it.fault == fault) {
                    known.path.extend(edges);
                    continue;
                }
                let label = self.document.end_label(&at);
                all.push(Suspect {
                    at: edges.iter().map(|edge| self.of(*edge).clone()).collect(),
                    test: format!("clip a jumper wire across the joint at {label} and listen"),
                    if_changed: "clean it to bright metal, make it again and tighten it".into(),
                    meter: format!(
                        "millivolts across the joint at {label}, from lug to stud, units on. \
                         Right: 1 mV or less and steady. Wrong: more, or it moves when you tug \
                         at {}",
                        self.names(&edges)
                    ),
                    path: edges,
                    into: Onto::Ground,
                    ..self.suspect(fault, 0.03, format!("loose ground at {label}"))
                });
            }
        }
        all
    }

    /// Each joint of a unit's ground path with the wires that meet there, by the path of fewest parts.
    pub fn ground_path(&self, unit: &DeviceId) -> Vec<(End, Vec<EdgeIndex>)> {
        let netlist = self.noise.point.netlist();
        let pins = netlist.terminals(unit);
        let pins = pins.filter(|it| role(self.document, netlist, *it) == Some(Role::Return));
        let is_ground = |edge: EdgeIndex, _| {
            matches!(
                netlist.graph[edge].kind,
                EdgeKind::Wire { .. }
                    | EdgeKind::Mate { .. }
                    | EdgeKind::Shunt { .. }
                    | EdgeKind::Tie { .. }
                    | EdgeKind::Bond { .. }
                    | EdgeKind::Bar(crate::document::BarUse::Ground)
            )
        };
        let reach = netlist.reach_by(pins, is_ground, |_| AtNode::GoOn);
        let mut batteries = netlist.batteries();
        let path = batteries.find_map(|it| reach.path(netlist, netlist.ends(it).1));
        let mut joints: Vec<(End, Vec<EdgeIndex>)> = Vec::new();
        for edge in path.unwrap_or_default() {
            if !matches!(netlist.of(edge), EdgeOf::Wire(_)) {
                continue;
            }
            for node in <[NodeIndex; 2]>::from(netlist.ends(edge)) {
                let end = match netlist.point(node) {
                    Point::Terminal(device, terminal) if device != unit => {
                        End::Terminal(device.clone(), terminal.clone())
                    }
                    Point::Splice(id) => End::Splice(id.clone()),
                    Point::Structure(id) => End::Structure(id.clone()),
                    _ => continue,
                };
                match joints.iter_mut().find(|it| it.0 == end) {
                    Some(joint) => joint.1.push(edge),
                    None => joints.push((end, vec![edge])),
                }
            }
        }
        joints
    }

    /// Running units with audio.
    pub fn units(&self) -> Vec<&'a DeviceId> {
        let of = |edge: EdgeIndex| match self.of(edge) {
            EdgeOf::Element(device, ..) => self.document.devices.get_key_value(device),
            _ => None,
        };
        let loads = self.noise.point.netlist().loads();
        let runs = |edge: &EdgeIndex| {
            (self.noise.point.edge_amps(*edge)).is_some_and(|amps| amps.abs() > 1e-6)
        };
        let running = loads.map(|it| it.0).filter(runs).filter_map(of);
        let mut units: Vec<_> = running
            .filter(|it| has_audio(it.1))
            .map(|it| it.0)
            .collect();
        units.dedup();
        units
    }

    /// Running radios that transmit.
    fn radios(&self) -> Vec<&'a DeviceId> {
        let has = |id: &DeviceId, role| {
            let device = self.document.devices.get(id);
            device.is_some_and(|it| it.terminals.iter().any(|it| it.role == role))
        };
        let units = self.units().into_iter();
        let radios = units.filter(|id| has(id, Role::Rf) && has(id, Role::KeyLine));
        radios.collect()
    }

    fn air(&self, radio: &DeviceId) -> Suspect {
        let tag = self.tag(radio);
        let transmits = self.hear == Hear::Transmit;
        let (what, odds) = match self.hear {
            Hear::Transmit => (
                format!("the transmitted signal of {tag} itself, picked up by a wire"),
                0.3,
            ),
            Hear::Squelch => (format!("picked up by the antenna of {tag}"), 0.3),
            _ => (format!("picked up by the antenna of {tag}"), 0.04),
        };
        let currents = self.currents();
        Suspect {
            test: format!("connect a dummy load to {tag} in place of its antenna, and listen"),
            if_changed: "it comes through the air: check the antenna's ground, the shield of its \
                         coaxial cable and those of the mic cables; then move or shield the source"
                .into(),
            meter: "turn the master off. Measure ohms from the antenna's base to bare airframe: \
                    expect under 2.5 mΩ (bonding; AC 43.13-1B par 11-188f)"
                .into(),
            sources: match transmits {
                true => self.those(|it| it.device == *radio),
                false => currents,
            },
            ..self.suspect(Fault::Air(radio.clone()), odds, what)
        }
    }

    /// Ignition: it follows the engine too.
    fn p_leads(&self) -> Vec<Suspect> {
        let magnetos = self.sources.iter().filter(|it| it.engine && !it.alternator);
        let suspect = |id: &DeviceId| {
            let tag = self.tag(id);
            Suspect {
                test: format!("in the usual magneto check, listen while {tag} is off for a moment"),
                if_changed: "make the ends of the P-lead's shield again".into(),
                meter: "turn the magneto switch and the master off. Measure ohms along the \
                        P-lead's shield, from the magneto's case to the switch: expect under 1 Ω"
                    .into(),
                sources: self.those(|it| it.device == *id),
                ..self.suspect(
                    Fault::PLead(id.clone()),
                    0.05,
                    format!("ignition noise: the shield of the P-lead of {tag} is open"),
                )
            }
        };
        magnetos.map(|it| suspect(&it.device)).collect()
    }
}

/// A jack, and the node of its sleeve.
type Jack<'a> = (&'a DeviceId, &'a crate::document::Jack, NodeIndex);
