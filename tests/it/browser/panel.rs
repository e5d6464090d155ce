//! The overhead panel of the second sample, drawn from an empty sheet by hand: every action is counted.

use std::collections::BTreeSet;

use super::steps::{begin_empty, on_drawing, pin, sheet_is_empty, stored_project};
use super::{Page, Screen, journey};

/// A hand at the drawing: each press, stroke or word typed is one action.
struct Hand<'a> {
    page: &'a Page,
    actions: usize,
}

/// The ends of the pins on the sheet.
const ENDS: &str = "[...document.querySelectorAll('#drawing .pin')].map(pin => pin.dataset.end)";

impl Hand<'_> {
    async fn press(&mut self, css: &str) {
        self.page.press(css).await;
        self.actions += 1;
    }

    async fn ends(&self) -> BTreeSet<String> {
        let ends = self.page.eval(ENDS).await;
        serde_json::from_value(ends).expect("ends are words")
    }

    /// Puts a device of the catalogue on the sheet and gives its key.
    async fn place(&mut self, title: &str, (right, down): (f64, f64)) -> String {
        let before = self.ends().await;
        self.press(".rail [data-tool=device]").await;
        self.page.fill(".panel input[type=search]", title).await;
        self.press(".panel [data-part]").await;
        let at = on_drawing(self.page, right, down).await;
        self.page.press_at(at).await;
        self.actions += 2;
        let more = format!("{ENDS}.length > {}", before.len());
        self.page.wait_until(title, &more, 10).await;
        let new = self.ends().await;
        let new = new.difference(&before).next().expect("it has a pin");
        let device = new.trim_start_matches("terminal:").split('/').next();
        device.expect("a key").to_owned()
    }

    /// Wires pins of one device, in a stroke along them, to a pin of another and those after it.
    async fn several(&mut self, device: &str, pins: &[&str], to: &str) {
        let mut stroke = Vec::new();
        for name in pins {
            let css = pin(&format!("terminal:{device}/{name}"));
            stroke.push(self.page.middle_of(&css).await);
        }
        let before = self.page.count("#drawing .g-wire").await;
        self.page.drag_along(&stroke).await;
        self.actions += 1;
        self.press(&pin(&format!("terminal:{to}"))).await;
        self.drawn(before + pins.len() as u64).await;
    }

    /// Draws one wire with two taps.
    async fn wire(&mut self, from: &str, to: &str) {
        let before = self.page.count("#drawing .g-wire").await;
        for end in [from, to] {
            self.press(&pin(&format!("terminal:{end}"))).await;
        }
        self.drawn(before + 1).await;
    }

    async fn drawn(&self, wires: u64) {
        let drawn = format!("document.querySelectorAll('#drawing .g-wire').length === {wires}");
        self.page.wait_until("they are drawn", &drawn, 10).await;
    }
}

/// What a person may need for it, as counted: 14 devices with four actions each, seven strokes and their ends, eleven wires.
const ACTIONS_MAX: usize = 105;

#[test]
fn the_overhead_panel_is_drawn_by_hand() {
    journey("panel-by-hand", Screen::LAPTOP, async |page| {
        begin_empty(page).await;
        let mut hand = Hand { page, actions: 0 };
        hand.press(".zoom [aria-label='Whole sheet']").await;
        let intercom = hand.place("Intercom, 4-place", (0.3, 0.1)).await;
        let plug = hand.place("15-way D-sub, in line", (0.52, 0.15)).await;
        let jacks = [
            ("Phones jack, stereo 1/4 in", "1"),
            ("Mic jack, 0.206 in", "4"),
            ("Phones jack, stereo 1/4 in", "9"),
            ("Mic jack, 0.206 in", "12"),
        ];
        let mut placed = Vec::new();
        for (n, (title, first)) in jacks.iter().enumerate() {
            let down = 0.1 + 0.16 * n as f64;
            placed.push((hand.place(title, (0.75, down)).await, *first));
        }
        hand.press(".rail [data-tool=wire]").await;
        hand.press("button.several").await;
        for (pins, to) in [
            (&["j2-1", "j2-9", "j2-2", "j2-3", "j2-11"][..], "j-1"),
            (&["j2-5", "j2-13"][..], "j-9"),
            (&["j2-6", "j2-7", "j2-15"][..], "j-11"),
        ] {
            hand.several(&intercom, pins, &format!("{plug}/{to}")).await;
        }
        for (jack, first) in &placed {
            let pins = ["tip", "ring", "sleeve"];
            // The push-to-talk contact of a mic jack stays free.
            let pins = if matches!(*first, "4" | "12") {
                &pins[1..]
            } else {
                &pins[..]
            };
            hand.several(jack, pins, &format!("{plug}/p-{first}")).await;
        }
        page.screenshot("audio").await;

        hand.press("[aria-label='Add a sheet']").await;
        sheet_is_empty(page).await;
        let bus = hand.place("Bus, 4 breakers", (0.3, 0.15)).await;
        let ground = hand.place("Ground block, 8 tabs", (0.3, 0.6)).await;
        let plug = hand.place("4-way rectangular", (0.5, 0.4)).await;
        let port = hand.place("Dual charging port", (0.75, 0.3)).await;
        let map_switch = hand.place("Switch, on-off", (0.71, 0.62)).await;
        let map = hand.place("Map light, LED", (0.85, 0.6)).await;
        let cabin_switch = hand.place("Switch, on-off", (0.5, 0.13)).await;
        let cabin = hand.place("Cabin light, LED", (0.75, 0.13)).await;
        hand.press(".rail [data-tool=wire]").await;
        hand.press("button.several").await;
        for (from, to) in [
            ((&bus, "cb1"), (&plug, "j-1")),
            ((&ground, "t1"), (&plug, "j-2")),
            ((&bus, "cb2"), (&plug, "j-3")),
            ((&ground, "t2"), (&plug, "j-4")),
            ((&plug, "p-1"), (&port, "+")),
            ((&port, "-"), (&plug, "p-2")),
            ((&plug, "p-3"), (&map_switch, "1")),
            ((&map_switch, "2"), (&map, "+")),
            ((&map, "-"), (&plug, "p-4")),
            ((&bus, "cb2"), (&cabin_switch, "1")),
            ((&cabin_switch, "2"), (&cabin, "+")),
        ] {
            let end = |(device, name): (&String, &str)| format!("{device}/{name}");
            hand.wire(&end(from), &end(to)).await;
        }
        page.screenshot("power").await;
        let project = stored_project(page).await;
        let wires = project["wires"].as_object().expect("wires");
        assert_eq!(wires.len(), 31, "every wire of the panel");
        println!("{} actions for 31 wires and 14 devices", hand.actions);
        crate::measured::keep("panel", &hand.actions.to_string());
        assert!(hand.actions <= ACTIONS_MAX, "{} actions", hand.actions);
    });
}
