//! The steps of the hunt, what a person answers, and the words and cautions of each.

use super::{names::name, suspect::Hear};
use crate::{
    document::{Document, End, WireEnd},
    ids::DeviceId,
    netlist::EdgeOf,
};

/// One test of the hunt.
#[derive(Clone, Debug, PartialEq)]
pub enum Step {
    /// Listen at each seat.
    Listen,
    /// Stop the engine, leave the rest on.
    EngineOff,
    /// Turn the field of the alternators off.
    FieldOff,
    /// Turn these devices off.
    Off(Vec<DeviceId>),
    /// Turn one magneto off for a moment.
    Magneto(DeviceId),
    /// Separate an in-line connector.
    Unplug(DeviceId),
    /// Run a unit from a battery of its own, supply and return.
    OwnBattery(DeviceId),
    /// Give a unit a temporary return of its own.
    OwnReturn(DeviceId),
    /// Run a unit from a battery of its own, its return as it is.
    OwnSupply(DeviceId),
    /// Loosen these jacks so that they hang clear of metal.
    Clear(Vec<DeviceId>),
    /// Disconnect one part.
    Part(EdgeOf),
    /// Clip a jumper across a joint.
    Jumper(End),
    /// Connect a dummy load to a radio in place of its antenna.
    DummyLoad(DeviceId),
    /// Plug the headset of a seat in at another.
    Swap(DeviceId),
    /// Make the audio low of a jack again.
    Repair(DeviceId),
    /// Pull the plugs of the units with audio and measure ohms at jacks and shields.
    Ohms,
    /// Measure millivolts across the joints of the ground paths of units with audio.
    Drops,
}

/// What a person found.
#[derive(Clone, Debug, PartialEq)]
pub enum Answer {
    /// The noise is the same.
    Same,
    /// It is gone.
    Gone,
    /// It is weaker.
    Partly,
    /// Keys of records. Listening at each seat: those that hear it. Measuring: those that read wrong, which
    /// may be none. Otherwise: seats at which it is gone; the rest still hear it.
    These(Vec<String>),
}

fn list(document: &Document, devices: &[DeviceId]) -> String {
    let tags = devices
        .iter()
        .map(|it| document.record_label("device", it.as_str()));
    tags.collect::<Vec<_>>().join(", ")
}

impl Step {
    /// True if the answer is a list of what reads wrong.
    pub fn measures(&self) -> bool {
        matches!(self, Self::Ohms | Self::Drops)
    }

    /// The step in a few words.
    pub fn title(&self, document: &Document) -> String {
        let tag = |id: &DeviceId| document.record_label("device", id.as_str());
        match self {
            Self::Listen => "Listen at each seat".into(),
            Self::EngineOff => "Stop the engine, master on".into(),
            Self::FieldOff => "Alternator field off".into(),
            Self::Off(devices) => format!("Turn off {}", list(document, devices)),
            Self::Magneto(id) => format!("Magneto check: {} off", tag(id)),
            Self::Unplug(id) => format!("Separate {}", tag(id)),
            Self::OwnBattery(id) => format!("{} on its own battery", tag(id)),
            Self::OwnReturn(id) => format!("A temporary return for {}", tag(id)),
            Self::OwnSupply(id) => format!("{}: its supply from a separate battery", tag(id)),
            Self::Clear(jacks) => format!("Let {} hang clear of metal", list(document, jacks)),
            Self::Part(of) => format!("Disconnect {}", name(document, of)),
            Self::Jumper(end) => format!("A jumper across {}", document.end_label(end)),
            Self::DummyLoad(id) => format!("A dummy load on {}", tag(id)),
            Self::Swap(id) => format!("The headset of {} at another seat", tag(id)),
            Self::Repair(id) => format!("Repair the audio low of {}", tag(id)),
            Self::Ohms => "Ohms at jacks and shields, audio plugs pulled".into(),
            Self::Drops => "Millivolts across the joints of audio grounds".into(),
        }
    }

    /// How to do it.
    pub fn how(&self) -> &'static str {
        match self {
            Self::Listen => {
                "Plug one headset in at one seat after the other. Mark where you hear it."
            }
            Self::EngineOff => "Let the rest run from the battery, and listen.",
            Self::FieldOff => {
                "With the engine running, turn the field off by its switch or its field breaker, \
                 and listen."
            }
            Self::Off(_) => {
                "Use their switches or breakers. Where another unit shares the breaker, unplug \
                 them instead. What is off neither makes the noise nor lets it in."
            }
            Self::Magneto(_) => "Listen while it is off, at the speed of the maker's check.",
            Self::Unplug(_) => "What is wired through it is silent now. Listen at the other seats.",
            Self::OwnBattery(_) => {
                "Disconnect its supply and its return, and run it from a small battery. Its case \
                 must not touch metal."
            }
            Self::OwnReturn(_) => {
                "Run a wire from its return pin to the battery's negative post and disconnect its \
                 own return."
            }
            Self::OwnSupply(_) => {
                "Pull its breaker, disconnect its supply wire and feed it from a small battery. \
                 Leave its return as it is."
            }
            Self::Clear(_) => "Loosen the nut, or slip paper between jack and metal.",
            Self::Part(_) => "Insulate what you took off, and listen.",
            Self::Jumper(_) => "Clip it from lug to bare metal past the joint, and listen.",
            Self::DummyLoad(_) => "Use one for its power, at the radio's own connector.",
            Self::Swap(_) => "Listen at its own seat with another headset.",
            Self::Repair(_) => "Make its open joint again, and listen.",
            Self::Ohms => "Null the leads. Pull headsets too. Mark what reads wrong.",
            Self::Drops => {
                "Engine off, units on, from the battery. Mark the joint that reads wrong."
            }
        }
    }

    /// What to heed, with the engine running for the noise or not.
    pub fn caution(&self, engine_runs: bool) -> String {
        let own = match self {
            Self::Listen | Self::Swap(_) | Self::EngineOff => {
                "Nobody leaves or boards while the propeller turns."
            }
            Self::FieldOff => {
                "Turn it off by its switch. Never open the B lead, its breaker or its limiter, \
                 and never turn the battery off while it charges: a load dump destroys radios."
            }
            Self::Off(_) => "On the ground only. Set every switch and breaker again before flight.",
            Self::Magneto(_) => {
                "Brakes set, wheels chocked. An open P-lead leaves the magneto live: nobody \
                 touches the propeller, with the switch off too."
            }
            Self::Unplug(_)
            | Self::Clear(_)
            | Self::Part(_)
            | Self::Jumper(_)
            | Self::Repair(_) => "Turn the master off before you disconnect or connect anything.",
            Self::OwnBattery(_) | Self::OwnSupply(_) | Self::OwnReturn(_) => {
                "Turn the master off first. Put a fuse at the battery's post: a short can start a \
                 fire. Check polarity before you connect."
            }
            Self::DummyLoad(_) => {
                "Turn the radio off first. Never transmit with neither antenna nor dummy load: it \
                 destroys the transmitter."
            }
            Self::Ohms => {
                "Turn the master off and disconnect the battery's negative. Measuring ohms on a \
                 live circuit can destroy the meter and start a fire."
            }
            Self::Drops => {
                "Keep probes and tools on the ground side: a slip to a live stud can start a fire."
            }
        };
        let hands_off = matches!(
            self,
            Self::Listen | Self::EngineOff | Self::FieldOff | Self::Off(_) | Self::Magneto(_)
        );
        match engine_runs && !hands_off {
            true => format!(
                "Stop the engine, magnetos and master off, before hands go to wires or jacks: a \
                 turning propeller kills. Start again only with everyone clear. {own}"
            ),
            false => own.into(),
        }
    }

    /// Its words in files: what to do, then keys of records.
    pub fn to_words(&self) -> Vec<String> {
        let ids = |word: &str, ids: &[DeviceId]| {
            let mut words = vec![word.to_owned()];
            words.extend(ids.iter().map(ToString::to_string));
            words
        };
        let one = |word: &str, id: &DeviceId| vec![word.to_owned(), id.to_string()];
        match self {
            Self::Listen => ids("listen", &[]),
            Self::EngineOff => ids("engine_off", &[]),
            Self::FieldOff => ids("field_off", &[]),
            Self::Off(all) => ids("off", all),
            Self::Clear(all) => ids("clear", all),
            Self::Magneto(id) => one("magneto", id),
            Self::Unplug(id) => one("unplug", id),
            Self::OwnBattery(id) => one("battery", id),
            Self::OwnReturn(id) => one("return", id),
            Self::OwnSupply(id) => one("supply", id),
            Self::DummyLoad(id) => one("dummy_load", id),
            Self::Swap(id) => one("swap", id),
            Self::Repair(id) => one("repair", id),
            Self::Ohms => ids("ohms", &[]),
            Self::Drops => ids("drops", &[]),
            Self::Jumper(end) => vec!["jumper".into(), end.to_string()],
            Self::Part(of) => {
                let mut words = vec!["part".into()];
                words.extend(part_words(of));
                words
            }
        }
    }

    /// The step with these words; `None` if there is none.
    pub fn read(words: &[String]) -> Option<Self> {
        let (what, rest) = words.split_first()?;
        let all = || rest.iter().map(DeviceId::new).collect::<Vec<_>>();
        let one = || rest.first().map(DeviceId::new);
        Some(match &**what {
            "listen" => Self::Listen,
            "engine_off" => Self::EngineOff,
            "field_off" => Self::FieldOff,
            "off" => Self::Off(all()),
            "clear" => Self::Clear(all()),
            "magneto" => Self::Magneto(one()?),
            "unplug" => Self::Unplug(one()?),
            "battery" => Self::OwnBattery(one()?),
            "return" => Self::OwnReturn(one()?),
            "supply" => Self::OwnSupply(one()?),
            "dummy_load" => Self::DummyLoad(one()?),
            "swap" => Self::Swap(one()?),
            "repair" => Self::Repair(one()?),
            "ohms" => Self::Ohms,
            "drops" => Self::Drops,
            "jumper" => Self::Jumper(rest.first()?.parse().ok()?),
            "part" => Self::Part(read_part(rest)?),
            _ => return None,
        })
    }
}

/// The words of a part in files, which are its key: its kind, its record, which part of it. Also
/// the keys of what a measurement lists.
pub fn part_words(of: &EdgeOf) -> Vec<String> {
    let end = |end: &WireEnd| match end {
        WireEnd::From => "from".into(),
        WireEnd::To => "to".into(),
    };
    match of {
        EdgeOf::Wire(id) => vec!["wire".into(), id.to_string()],
        EdgeOf::InlineFuse(id) => vec!["fuse".into(), id.to_string()],
        EdgeOf::Shield(id) => vec!["shield".into(), id.to_string()],
        EdgeOf::ShieldEnd(id, at) => vec!["shield_end".into(), id.to_string(), end(at)],
        EdgeOf::Bond(id) => vec!["bond".into(), id.to_string()],
        EdgeOf::Element(device, element, at) => vec![
            "element".into(),
            device.to_string(),
            element.to_string(),
            at.to_string(),
        ],
    }
}

fn read_part(words: &[String]) -> Option<EdgeOf> {
    let words: Vec<&str> = words.iter().map(|it| &**it).collect();
    Some(match words[..] {
        ["wire", id] => EdgeOf::Wire(id.into()),
        ["fuse", id] => EdgeOf::InlineFuse(id.into()),
        ["shield", id] => EdgeOf::Shield(id.into()),
        ["shield_end", id, "from"] => EdgeOf::ShieldEnd(id.into(), WireEnd::From),
        ["shield_end", id, "to"] => EdgeOf::ShieldEnd(id.into(), WireEnd::To),
        ["bond", id] => EdgeOf::Bond(id.into()),
        ["element", device, element, at] => {
            EdgeOf::Element(device.into(), element.into(), at.parse().ok()?)
        }
        _ => return None,
    })
}

impl Hear {
    /// The caution of a step while this is heard.
    pub fn caution(self, step: &Step) -> String {
        step.caution(self.engine_runs())
    }
}

impl Answer {
    /// Its words in files.
    pub fn to_words(&self) -> Vec<String> {
        match self {
            Self::Same => vec!["same".into()],
            Self::Gone => vec!["gone".into()],
            Self::Partly => vec!["partly".into()],
            Self::These(keys) => {
                let mut words = vec!["these".into()];
                words.extend(keys.iter().cloned());
                words
            }
        }
    }

    /// The answer with these words; `None` if there is none.
    pub fn read(words: &[String]) -> Option<Self> {
        let (what, rest) = words.split_first()?;
        match &**what {
            "same" => Some(Self::Same),
            "gone" => Some(Self::Gone),
            "partly" => Some(Self::Partly),
            "these" => Some(Self::These(rest.to_vec())),
            _ => None,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_step_comes_back_from_its_words() {
        let id = || DeviceId::new("a:1,2");
        let parts = [
            EdgeOf::Wire("w".into()),
            EdgeOf::InlineFuse("w".into()),
            EdgeOf::Shield("c".into()),
            EdgeOf::ShieldEnd("c".into(), WireEnd::From),
            EdgeOf::ShieldEnd("c".into(), WireEnd::To),
            EdgeOf::Bond("p".into()),
            EdgeOf::Element("d".into(), "e".into(), 2),
        ];
        let mut steps = vec![
            Step::Listen,
            Step::EngineOff,
            Step::FieldOff,
            Step::Off(vec![id(), "b".into()]),
            Step::Clear(vec![id()]),
            Step::Magneto(id()),
            Step::Unplug(id()),
            Step::OwnBattery(id()),
            Step::OwnReturn(id()),
            Step::OwnSupply(id()),
            Step::DummyLoad(id()),
            Step::Swap(id()),
            Step::Repair(id()),
            Step::Ohms,
            Step::Drops,
            Step::Jumper(End::terminal("gb1", "stud")),
        ];
        steps.extend(parts.map(Step::Part));
        for step in steps {
            assert_eq!(Step::read(&step.to_words()), Some(step.clone()));
            for engine_runs in [false, true] {
                assert!(!step.caution(engine_runs).is_empty());
            }
        }
        for answer in [
            Answer::Same,
            Answer::Gone,
            Answer::Partly,
            Answer::These(Vec::new()),
            Answer::These(vec!["jk5".into()]),
        ] {
            assert_eq!(Answer::read(&answer.to_words()), Some(answer));
        }
        assert_eq!(Step::read(&["fly".into()]), None);
    }
}
