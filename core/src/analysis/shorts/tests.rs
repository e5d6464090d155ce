//! Shorts worked by hand.

use super::*;
use crate::{analysis::failures::usual_state, testing::document};

fn shorts(text: &str) -> Vec<Short> {
    let document = document(text);
    let state = usual_state(&document).expect("a state");
    Shorts::new(&document, state).collect()
}

fn of<'s>(all: &'s [Short], wire: &str) -> &'s Short {
    let found = all.iter().find(|it| it.wire.as_str() == wire);
    found.unwrap_or_else(|| panic!("no short of {wire} in {all:?}"))
}

/// Battery 12.8 V behind 10 mΩ, a 7.5 A breaker, 4 m of 18 AWG: the worked case of a shorted
/// feeder, without its alternator, with a short of 5 mΩ.
const FEEDER: &str = "
    place FRAME metal
    battery BT1 emf=12.8 ohm=0.01
    breaker CB1 7.5
    load LA 2
    load LB 2
    wire HOT BT1.+ CB1.1 8 1m rated=150
    wire WF CB1.2 LA.+ 18 4m rated=150
    wire WB BT1.+ LB.+ 18 1m
    wire NA LA.- @FRAME
    wire NB LB.- @FRAME
    wire G BT1.- @FRAME 2 0.1m
    state T
";

#[test]
fn a_feeder_behind_a_breaker_is_cleared_and_only_its_load_is_lost() {
    let all = shorts(FEEDER);
    let short = of(&all, "WF");
    // By hand at 50 °C: 8 AWG 1 m 2.57 mΩ, breaker 2 mΩ, 18 AWG 4 m 91.4 mΩ, 2 AWG 0.1 m 0.07
    // mΩ, battery 10 mΩ, short 5 mΩ: 12.8 V over 111 mΩ, less the other load's current.
    assert!((short.amps - 115.0).abs() < 2.0, "{}", short.amps);
    let [opens] = &short.opens[..] else {
        panic!("one protector opens, not {:?}", short.opens)
    };
    assert_eq!(
        (opens.rating_a, opens.assumed, short.goes_on),
        (7.5, true, false)
    );
    assert_eq!(short.stops.len(), 1);
    // 18 AWG from 70 to 150 °C: k² S² = 226² ln(384.5/304.5) 0.927 = 11,000 A²s: 0.83 s at 115 A.
    let bears_s = short.bears_s.expect("its insulation is known");
    assert!((bears_s - 0.83).abs() < 0.04, "{bears_s}");
    // An assumed breaker is the slow one: 60 s at twice its rating is 0.8 s at 15 times.
    assert!((opens.latest_s - 0.8).abs() < 0.1, "{}", opens.latest_s);
}

#[test]
fn with_a_breaker_of_unknown_rating_nothing_is_said_of_the_wire() {
    let all = shorts(&FEEDER.replace("breaker CB1 7.5", "breaker CB1 ?"));
    let short = of(&all, "WF");
    assert_eq!((short.unknown_ratings.len(), short.survives()), (1, None));
    assert!(short.opens.is_empty());
    // Upstream of the breaker its rating does not matter.
    assert_eq!(of(&all, "HOT").survives(), Some(false));
}

#[test]
fn an_unprotected_wire_is_fed_for_ever() {
    let all = shorts(FEEDER);
    let short = of(&all, "WB");
    assert!(short.goes_on && short.opens.is_empty());
    assert_eq!((short.bears_s, short.survives()), (None, None));
    let hot = of(&all, "HOT");
    assert_eq!((hot.goes_on, hot.survives()), (true, Some(false)));
    assert!(
        all.iter().all(|it| it.wire.as_str() != "NA"),
        "returns are not live"
    );
}

/// Breaker of 7.5 A that opens in 15 s at twice its rating, on 18 AWG: the worked coordination of
/// the feeder case gives 0.21 s at 112 A against 1.6 s for a wire from 50 to 200 °C.
#[test]
fn the_makers_figure_of_a_breaker_is_used() {
    let mut document = document(FEEDER);
    let breaker = document.devices.get_mut("CB1").expect("the breaker");
    for element in &mut breaker.elements {
        if let ElementKind::Protector(it) = &mut element.is {
            it.trip_s = Some(15.0);
        }
    }
    let state = usual_state(&document).expect("a state");
    let all: Vec<Short> = Shorts::new(&document, state).collect();
    let short = of(&all, "WF");
    let opens = short.opens[0];
    assert!(
        (opens.latest_s - 0.2).abs() < 0.02 && !opens.assumed,
        "{opens:?}"
    );
    assert_eq!(short.survives(), Some(true), "{short:?}");
}

#[test]
fn the_end_that_the_wire_bears_worse_is_given() {
    const FUSED: &str = "
        place FRAME metal
        battery BT1 emf=12.8 ohm=0.002
        fuse F1 15
        load LA 2
        wire HOT BT1.+ F1.1 2 0.1m rated=150
        wire WF F1.2 LA.+ 22 5m rated=150
        wire NA LA.- @FRAME
        wire G BT1.- @FRAME 2 0.1m
        state T
    ";
    let all = shorts(FUSED);
    // By hand: 22 AWG survives 226² ln(384.5/304.5) 0.324² = 1,250 A²s. Close to the fuse, the
    // fuse passes at most 36 · 15² · 0.15 = 1,215 A²s. At the far end, behind 5 m of 53 mΩ/m,
    // three times its rating flow for up to 0.9 s: 1,900 A²s.
    let short = of(&all, "WF");
    assert_eq!((short.end, short.survives()), (WireEnd::To, Some(false)));
    assert!((40.0..46.0).contains(&short.amps), "{}", short.amps);
    // With a fuse of 5 A the wire survives a short anywhere.
    let small = shorts(&FUSED.replace("F1 15", "F1 5"));
    assert_eq!(of(&small, "WF").survives(), Some(true));
}

/// The wire behind its own fuse is cleared by it; there is no wire ahead of it to short.
#[test]
fn a_fuse_in_the_wire_clears_a_short_behind_it() {
    let all = shorts(
        "
        place FRAME metal
        battery BT1 emf=12.8 ohm=0.01
        load LA 2
        wire W BT1.+ LA.+ 20 3m rated=150 fuse=3@from
        wire NA LA.- @FRAME
        wire G BT1.- @FRAME 2 0.1m
        state T
        ",
    );
    let short = of(&all, "W");
    assert_eq!((short.opens.len(), short.goes_on), (1, false), "{short:?}");
    assert_eq!(short.survives(), Some(true));
}

/// A bond of 1 ohm: the same short in the tail gives less than on the frame, whichever way the strap is drawn.
#[test]
fn a_wire_is_shorted_to_the_metal_where_it_ends() {
    let text = "
        place FRAME metal
        place TAIL metal bonded=FRAME bond=1
        battery BT1 emf=12.8 ohm=0.01 at=FRAME
        load LA 2 at=TAIL
        wire W BT1.+ LA.+ 20 3m rated=150
        wire NA LA.- @TAIL
        wire G BT1.- @FRAME 2 0.1m
        state T
    ";
    let amps = |text: &str| {
        let mut document = document(text);
        document.wires.retain(|id, _| id.as_str() != "NA");
        let state = usual_state(&document).expect("a state");
        let mut shorts = Shorts::new(&document, state);
        let far = shorts.by_node.keys().copied().collect::<Vec<_>>();
        far.into_iter()
            .map(|node| {
                shorts.look(node);
                let edge = shorts.by_node[&node];
                shorts.known[&node].first.edge_amps(edge).unwrap_or(0.0)
            })
            .fold(f64::INFINITY, f64::min)
    };
    assert!((9.0..13.0).contains(&amps(text)), "{}", amps(text));
    let turned = text.replace("BT1.- @FRAME", "@FRAME BT1.-");
    assert!((amps(text) - amps(&turned)).abs() < 1e-9);
}

#[test]
fn a_short_of_a_control_wire_starts_what_it_controls() {
    // With its far side shorted to ground, the contactor's coil pulls in and feeds the bus.
    let all = shorts(
        "
        place FRAME metal
        battery BT1 emf=12.8 ohm=0.01
        contactor K1 1 2 C1 C2
        switch S1 1-2
        fuse F1 5
        load LA 2
        wire HOT BT1.+ K1.1 8 0.5m rated=150
        wire OUT K1.2 F1.1 8 0.5m rated=150
        wire WF F1.2 LA.+ 18 1m rated=150
        wire C1 BT1.+ K1.C1 20 0.1m rated=150
        wire C2 K1.C2 S1.1 20 1m rated=150
        wire C3 S1.2 @FRAME 20 1m rated=150
        wire NA LA.- @FRAME
        wire G BT1.- @FRAME 2 0.1m
        state T
    ",
    );
    let short = of(&all, "C2");
    assert_eq!((short.starts.len(), short.stops.len()), (1, 0), "{short:?}");
    assert!(!short.opens.iter().any(|it| it.rating_a > 5.0));
}

#[test]
fn a_wire_without_a_length_on_the_way_is_named() {
    let all = shorts(&FEEDER.replace("8 1m rated=150", "8"));
    assert_eq!(of(&all, "WF").unknown_lengths, vec![WireId::new("HOT")]);
    assert!(of(&shorts(FEEDER), "WF").unknown_lengths.is_empty());
}
