//! What may drive the noise that is heard, and who can hear it: sources and seats, numbered.

use petgraph::graph::EdgeIndex;

use super::{review::Noise, ripple::load_kind, suspect::Hear};
use crate::{
    analysis::shared_returns::has_audio,
    document::{DeviceKind, Document, ElementKind, Jack, JackUse, Role},
    ids::DeviceId,
    netlist::EdgeOf,
};

/// How many sources or seats fit into one set of bits. Further ones are left out.
const MOST: usize = 60;

/// One device that may drive the noise.
#[derive(Clone, Debug, PartialEq)]
pub struct Source {
    /// The device.
    pub device: DeviceId,
    /// Its share of suspicion, all sources together 1.
    pub share: f64,
    /// True if it stops with the engine.
    pub engine: bool,
    /// True for an alternator.
    pub alternator: bool,
}

/// The sources that what is heard allows; magnetos last, since only a P-lead lets them in.
pub(super) fn sources(document: &Document, noise: &Noise, hear: Hear) -> Vec<Source> {
    let mut all: Vec<Source> = Vec::new();
    let mut add = |device: &DeviceId, share: f64| {
        if all.iter().any(|it| it.device == *device) || all.len() >= MOST {
            return;
        }
        let alternator =
            (document.devices.get(device)).is_some_and(|it| it.kind == DeviceKind::Alternator);
        all.push(Source {
            device: device.clone(),
            share,
            engine: alternator,
            alternator,
        });
    };
    let of = |edge: EdgeIndex| match noise.point.netlist().of(edge) {
        EdgeOf::Element(device, ..) => Some(device),
        _ => None,
    };
    for drive in &noise.drives {
        if let Some(device) = of(drive.edge).filter(|_| hear.fits(drive.kind)) {
            add(device, 1.0);
        }
    }
    if hear.drive().is_none() {
        for (edge, _) in noise.point.netlist().loads() {
            let runs = (noise.point.edge_amps(edge)).is_some_and(|it| it.abs() > 1e-6);
            let Some(device) = of(edge).filter(|_| runs) else {
                continue;
            };
            let steady = (document.devices.get(device)).is_some_and(|it| {
                !has_audio(it) && it.kind != DeviceKind::Alternator && load_kind(it).is_none()
            });
            if steady {
                add(device, 0.2);
            }
        }
    }
    let total: f64 = all.iter().map(|it| it.share).sum();
    for it in &mut all {
        it.share /= total;
    }
    if hear == Hear::Whine && !all.is_empty() {
        for (id, device) in &document.devices {
            let is_switch = |it: &crate::document::Element| matches!(it.is, ElementKind::Switch(_));
            let p_lead = device.terminals.iter().any(|it| it.role == Role::PLead);
            if p_lead && !device.elements.iter().any(is_switch) && all.len() < MOST {
                all.push(Source {
                    device: id.clone(),
                    share: 1.0,
                    engine: true,
                    alternator: false,
                });
            }
        }
    }
    all
}

/// The jack that a device is.
pub(super) fn jack<'d>(document: &'d Document, device: &DeviceId) -> Option<&'d Jack> {
    let device = document.devices.get(device)?;
    device.elements.iter().find_map(|it| match &it.is {
        ElementKind::Jack(jack) => Some(jack),
        _ => None,
    })
}

/// The seats at which a person listens: one for each jack of headphones.
pub(super) fn seats(document: &Document) -> Vec<DeviceId> {
    let phones =
        |id: &&DeviceId| jack(document, id).is_some_and(|it| it.used_for == JackUse::Phones);
    let seats = document.devices.keys().filter(phones);
    seats.take(MOST).cloned().collect()
}
