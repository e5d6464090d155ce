//! Ids say nothing: renumbering and re-ordering records leaves circuit and operating point as they are.

use loomwright_core::{
    netlist::{Netlist, Point, Through, trace},
    solve::{OperatingPoint, operate_all},
    testing::document,
};

const DEVICES: usize = 10;
const WIRES: usize = 14;

/// A two-battery circuit with bus, contactor, alternator, diode and loads; devices and wires go by the
/// numbers that `device` and `wire` give them, in the order of those numbers.
fn circuit(device: impl Fn(usize) -> usize, wire: impl Fn(usize) -> usize) -> String {
    let parts = [
        "battery D0 emf=12.9",
        "battery D1 emf=12.6 ohm=0.02",
        "bus D2 CB1=5 CB2=7",
        "contactor D3 BAT LOAD COIL+ COIL-",
        "alternator D4 40",
        "load D5 3 law=resistance",
        "load D6 2",
        "load D7 1.5 law=current",
        "ground D8 STUD T1 T2 T3 T4 T5 T6",
        "diode D9",
    ];
    let ends = [
        "D0.+ D3.BAT 2 0.3m",
        "D3.LOAD D2.STUD 6 1m",
        "D0.+ D3.COIL+ 20 0.3m",
        "D3.COIL- D8.T1 20 1m",
        "D4.B D2.STUD 8 1.2m",
        "D4.CASE D8.T2 8 1m",
        "D2.CB1 D5.+ 20 3m",
        "D5.- D8.T3 20 2m",
        "D2.CB2 D6.+ 18 4m",
        "D6.- D8.T4 18 4m",
        "D2.STUD D9.A 12 0.2m",
        "D9.K D7.+ 18 1m",
        "D7.- D8.T5 18 1m",
        "D8.STUD D0.- 2 0.4m",
    ];
    // D1 hangs on the load side of the diode, its negative on the last tab.
    let more = ["D1.+ D9.K 10 0.5m", "D1.- D8.T6 10 0.5m"];
    let renamed = |text: &str| -> String {
        let words = text.split(' ').map(|word| match word.strip_prefix('D') {
            Some(rest) => {
                let digits = rest.chars().take_while(char::is_ascii_digit).count();
                let number: usize = rest[..digits].parse().expect("a device's number");
                format!("D{:02}{}", device(number), &rest[digits..])
            }
            None => word.to_owned(),
        });
        words.collect::<Vec<_>>().join(" ")
    };
    let mut lines: Vec<String> = parts.iter().map(|part| renamed(part)).collect();
    let wires = ends.iter().chain(&more).enumerate();
    lines.extend(wires.map(|(at, ends)| format!("wire W{:02} {}", wire(at), renamed(ends))));
    lines.push("state T running".into());
    lines.join("\n")
}

fn solved(text: &str) -> OperatingPoint {
    operate_all(&document(text)).swap_remove(0)
}

fn wire_amps(point: &OperatingPoint, number: usize) -> f64 {
    let id = format!("W{number:02}");
    point.wire_amps(&id.as_str().into()).expect("a wire")
}

#[test]
fn renumbering_changes_no_figure() {
    let plain = solved(&circuit(|n| n, |n| n));
    assert!(plain.converged, "{:?}", plain.problem);
    assert!((0..WIRES).all(|wire| wire_amps(&plain, wire).abs() > 0.05));
    for turn in 1..DEVICES {
        let device = |n: usize| (n * 3 + turn) % DEVICES;
        let wire = |n: usize| (n * 5 + turn) % (WIRES + 2);
        let turned = solved(&circuit(device, wire));
        for number in 0..WIRES + 2 {
            let (was, is) = (wire_amps(&plain, number), wire_amps(&turned, wire(number)));
            assert!(
                (was - is).abs() < 1e-7,
                "wire {number}: {was} A, then {is} A"
            );
        }
        for (number, terminal) in [(5, "+"), (6, "-"), (7, "+"), (2, "CB1"), (3, "COIL-")] {
            let across = |point: &OperatingPoint, names: [usize; 2]| {
                let volts = |number: usize, terminal: &str| {
                    let id = format!("D{number:02}");
                    let at = Point::Terminal(id.as_str().into(), terminal.into());
                    point.volts(&at).expect("held")
                };
                // Either battery may be the reference; the difference to one of them may not change.
                volts(names[0], terminal) - volts(names[1], "-")
            };
            let was = across(&plain, [number, 0]);
            let is = across(&turned, [device(number), device(0)]);
            assert!(
                (was - is).abs() < 1e-7,
                "{number} {terminal}: {was} V, then {is} V"
            );
        }
    }
}

#[test]
fn renumbering_changes_no_trace() {
    let traced = |device: &dyn Fn(usize) -> usize, wire: &dyn Fn(usize) -> usize| {
        let netlist = Netlist::new(&document(&circuit(device, wire)));
        let returns = trace::Returns::new(&netlist);
        let feeds = trace::Feeds::new(&netlist, &returns, trace::SUPPLY);
        let groups = netlist.groups(Through::CLOSABLE);
        let at = |number: usize| {
            let id = format!("W{:02}", wire(number));
            netlist.wire(&id.as_str().into()).expect("a wire")
        };
        (0..WIRES + 2)
            .map(|number| {
                let mut protectors: Vec<usize> = feeds
                    .of_edge(&netlist, at(number).edge)
                    .iter()
                    .map(|feed| feed.protectors.len())
                    .collect();
                protectors.sort_unstable();
                let with_first = groups.same(at(number).ends[0], at(0).ends[0]);
                (protectors, returns.has(at(number).ends[1]), with_first)
            })
            .collect::<Vec<_>>()
    };
    let plain = traced(&|n| n, &|n| n);
    for turn in 1..DEVICES {
        let turned = traced(&|n| (n * 3 + turn) % DEVICES, &|n| {
            (n * 5 + turn) % (WIRES + 2)
        });
        assert_eq!(plain, turned);
    }
}
