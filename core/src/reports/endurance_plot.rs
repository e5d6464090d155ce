//! A plot of bus voltage over time after the alternator stops, as SVG: one panel a case, in black and white.

use std::fmt::Write as _;

use super::endurance::words;
use crate::{
    analysis::endurance::{Case, Endurance, Stop, whole_min},
    markup::escape,
};

/// Width and height of a panel with its margins, and the margins: left, top, right, bottom.
const PANEL: (f64, f64) = (640.0, 190.0);
const LEFT: f64 = 44.0;
const TOP: f64 = 24.0;
const RIGHT: f64 = 96.0;
const BOTTOM: f64 = 30.0;

/// Dashes that identify buses without color.
const DASHES: [&str; 4] = ["", "7 3", "2 3", "9 3 2 3"];

/// The plot; an empty drawing if no case could be computed. Lines have the text color of the page
/// (`currentColor`).
pub fn svg(all: &Endurance) -> String {
    let (width, height) = (PANEL.0, PANEL.1 * all.cases.len() as f64);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width} {height}\" \
         font-family=\"sans-serif\" font-size=\"11\" fill=\"currentColor\" role=\"img\">\
         <title>Bus voltage over time</title>"
    );
    let scale = Scale::new(all);
    for (at, case) in all.cases.iter().enumerate() {
        // Writing to a text cannot fail.
        let _ = write!(
            svg,
            "<g transform=\"translate(0 {})\">",
            PANEL.1 * at as f64
        );
        panel(&mut svg, all, case, &scale);
        svg += "</g>";
    }
    svg + "</svg>\n"
}

/// The same scales for every panel.
struct Scale {
    minutes: f64,
    minute_step: f64,
    volts: (f64, f64),
}

impl Scale {
    fn new(all: &Endurance) -> Self {
        let samples = || all.cases.iter().flat_map(|case| &case.curve);
        let longest = samples().map(|it| it.minutes).fold(1.0, f64::max);
        let longest = all.target_min.map_or(longest, |target| longest.max(target));
        let minute_step = nice(longest / 8.0);
        let volts = samples().flat_map(|it| it.buses_v.iter().flatten());
        let (low, high) = volts.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), volts| {
            (low.min(*volts), high.max(*volts))
        });
        let volts = match low.is_finite() {
            true => ((low - 0.2).floor(), (high + 0.2).ceil()),
            false => (0.0, 14.0),
        };
        Self {
            minutes: (longest / minute_step).ceil() * minute_step,
            minute_step,
            volts,
        }
    }

    fn x(&self, minutes: f64) -> f64 {
        LEFT + (PANEL.0 - LEFT - RIGHT) * minutes / self.minutes
    }

    fn y(&self, volts: f64) -> f64 {
        let (low, high) = self.volts;
        let tall = PANEL.1 - TOP - BOTTOM;
        TOP + tall * (high - volts) / (high - low)
    }
}

/// A round step of 1, 2 or 5 times a power of ten, at least this.
fn nice(least: f64) -> f64 {
    let power = 10f64.powf(least.max(1e-3).log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0].map(|step| step * power);
    steps
        .into_iter()
        .find(|step| *step >= least)
        .unwrap_or(least)
}

fn panel(svg: &mut String, all: &Endurance, case: &Case, scale: &Scale) {
    frame(svg, case, scale);
    if let Some(target) = all.target_min {
        let (x, low, high) = (scale.x(target), scale.y(scale.volts.0), TOP);
        let _ = write!(
            svg,
            "<path d=\"M{x:.1} {high}V{low:.1}\" stroke=\"currentColor\" stroke-width=\"0.8\" \
             stroke-dasharray=\"1 3\"/><text x=\"{:.1}\" y=\"{:.1}\">target</text>",
            x + 3.0,
            low - 4.0
        );
    }
    let mut taken: Vec<f64> = Vec::new();
    for (bus, it) in all.buses.iter().enumerate() {
        let live = case.curve.iter();
        let live = live.filter_map(|sample| Some((sample.minutes, sample.buses_v[bus]?)));
        let points: Vec<(f64, f64)> = live.collect();
        let Some(&(minutes, volts)) = points.last() else {
            continue;
        };
        let line: Vec<String> = (points.iter())
            .map(|(minutes, volts)| format!("{:.1},{:.1}", scale.x(*minutes), scale.y(*volts)))
            .collect();
        let mut y = scale.y(volts);
        // Labels of lines that end close together are placed below each other.
        while taken.iter().any(|other| (other - y).abs() < 12.0) {
            y += 12.0;
        }
        taken.push(y);
        let _ = write!(
            svg,
            "<polyline points=\"{}\" fill=\"none\" stroke=\"currentColor\" stroke-width=\"1.4\" \
             stroke-dasharray=\"{}\"/><text x=\"{:.1}\" y=\"{:.1}\">{}</text>",
            line.join(" "),
            DASHES[bus % DASHES.len()],
            scale.x(minutes) + 5.0,
            y + 4.0,
            escape(&it.label)
        );
    }
    stops(svg, case, scale);
}

/// Frame, axes and heading.
fn frame(svg: &mut String, case: &Case, scale: &Scale) {
    let (left, right) = (LEFT, PANEL.0 - RIGHT);
    let (low, high) = scale.volts;
    let _ = write!(
        svg,
        "<text x=\"{left}\" y=\"15\" font-weight=\"bold\">{}: {}</text>\
         <rect x=\"{left}\" y=\"{TOP}\" width=\"{}\" height=\"{}\" fill=\"none\" \
         stroke=\"currentColor\" stroke-width=\"1\"/>",
        words(case.case),
        case.minutes
            .map_or("keeps running".into(), |minutes| format!(
                "{} min",
                whole_min(minutes)
            )),
        right - left,
        PANEL.1 - TOP - BOTTOM
    );
    let volt_step = nice((high - low) / 6.0);
    let decimals = usize::from(volt_step < 1.0);
    for n in 0..=((high - low) / volt_step) as usize {
        let volts = low + volt_step * n as f64;
        let y = scale.y(volts);
        let _ = write!(
            svg,
            "<path d=\"M{left} {y:.1}h-4\" stroke=\"currentColor\"/>\
             <text x=\"{}\" y=\"{:.1}\" text-anchor=\"end\">{volts:.decimals$} V</text>",
            left - 6.0,
            y + 4.0
        );
    }
    let bottom = PANEL.1 - BOTTOM;
    for n in 0..=(scale.minutes / scale.minute_step).round() as usize {
        let minutes = scale.minute_step * n as f64;
        let x = scale.x(minutes);
        let _ = write!(
            svg,
            "<path d=\"M{x:.1} {bottom}v4\" stroke=\"currentColor\"/>\
             <text x=\"{x:.1}\" y=\"{}\" text-anchor=\"middle\">{minutes}</text>",
            bottom + 15.0
        );
    }
    let _ = write!(
        svg,
        "<text x=\"{}\" y=\"{}\">min</text>",
        right + 10.0,
        bottom + 15.0
    );
}

/// A mark and a name where loads stop without being switched off.
fn stops(svg: &mut String, case: &Case, scale: &Scale) {
    let mut last: Option<(f64, Vec<&str>)> = None;
    let mut marks: Vec<(f64, Vec<&str>)> = Vec::new();
    let own = |stop| {
        matches!(
            stop,
            Stop::CutOff | Stop::SupplyCannotCarry | Stop::NoSupply
        )
    };
    for device in case.devices.iter().filter(|device| own(device.stop)) {
        match &mut last {
            Some((minutes, names)) if device.minutes - *minutes < scale.minutes / 60.0 => {
                names.push(&device.label);
            }
            _ => {
                marks.extend(last.take());
                last = Some((device.minutes, vec![&device.label]));
            }
        }
    }
    marks.extend(last);
    for (minutes, names) in marks {
        let x = scale.x(minutes);
        let _ = write!(
            svg,
            "<path d=\"M{x:.1} {TOP}v8\" stroke=\"currentColor\"/>\
             <text x=\"{x:.1}\" y=\"{}\" text-anchor=\"end\">{} off</text>",
            TOP + 18.0,
            escape(&names.join(", "))
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{analysis::endurance, testing::document};

    #[test]
    fn a_plot_shows_every_live_bus_and_what_stops() {
        let all = endurance(&document(
            "target 60
             battery BT1 ah=16
             bus A&B CB1=5 CB2=5
             bus DEAD CB1=5
             load X 3 cutoff=12
             load Y 3
             wire A BT1.+ A&B.STUD 2 1m
             wire B A&B.CB1 X.+ 20 1m
             wire C A&B.CB2 Y.+ 20 1m
             wire N X.- BT1.- 20 1m
             wire M Y.- BT1.- 20 1m
             state OUT after=essential",
        ));
        let svg = svg(&all);
        assert_eq!(svg.matches("<polyline").count(), 1);
        for words in ["A&amp;B", "X off", "essential loads only: ", "target"] {
            assert!(svg.contains(words), "no {words:?} in {svg}");
        }
        assert!(!svg.contains("DEAD") && !svg.contains("NaN"));
    }

    #[test]
    fn steps_are_round() {
        assert_eq!([0.3, 3.0, 17.0, 50.1].map(nice), [0.5, 5.0, 20.0, 100.0]);
    }
}
