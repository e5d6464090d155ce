//! What is over the drawing: live wires, flags, selection, what the tool shows. As markup.

use leptos::prelude::*;
use loomwright_core::{
    drawing::{
        Group, Scene, Shape,
        geometry::Point,
        overlay::{PlacedFlag, live_shapes},
        svg::markup,
    },
    edit::Key,
    ids::WireId,
    markup::escape,
    order::Map,
    rules::{Finding, Verdict},
};

use crate::{
    App,
    derived::{boxes::rects_of, flags::record_of},
    view::Ghost,
};

/// What shows that a wire is live in the chosen state: heavier lines, to lie under the scene, and
/// volts, to lie over it.
pub fn live(app: App) -> [String; 2] {
    let live_v: Map<WireId, f64> = app.derived.live.get();
    let shapes = app.derived.scene.with(|scene| {
        let flags = |flags: &Vec<(usize, PlacedFlag)>| {
            live_shapes(scene, &live_v, flags.iter().map(|(_, flag)| flag))
        };
        app.derived.flags.with(flags)
    });
    let (volts, lines) = shapes
        .into_iter()
        .partition(|shape| matches!(shape, Shape::Text { .. }));
    [lines, volts].map(|shapes| markup(&Group::new(shapes, "")))
}

/// Flags of the open findings.
pub fn marks(app: App) -> String {
    let marked = app.view.marked.get();
    let markup = |verdict: &Verdict, placed: &[(usize, PlacedFlag)]| {
        placed
            .iter()
            .filter_map(|(index, flag)| Some((index, flag, verdict.findings.get(*index)?)))
            .map(|(index, flag, finding)| {
                flag_markup(*index, flag, finding, marked == Some(*index))
            })
            .collect()
    };
    let (verdict, flags) = (app.derived.verdict, app.derived.flags);
    verdict.with(|verdict| flags.with(|placed| markup(verdict, placed)))
}

fn flag_markup(index: usize, flag: &PlacedFlag, finding: &Finding, marked: bool) -> String {
    let Point { x, y } = flag.at;
    format!(
        "<g class=\"flag-mark{}\" data-rule=\"{}\" data-finding=\"{index}\" role=\"img\" \
         aria-label=\"{}\" style=\"transform-origin:{x}px {y}px\">{}</g>",
        if marked { " marked" } else { "" },
        escape(finding.rule),
        escape(&finding.message),
        markup(&Group::new(flag.shapes.clone(), "")),
    )
}

/// The finding whose flag is within reach of a point, and no farther from it than any pin: a flag may be close to
/// pins that its finding does not name.
pub fn flag_at(app: App, at: Point, reach_mm: f64) -> Option<usize> {
    let reach_mm = app.derived.scene.with_untracked(|scene| {
        let pins = scene.pins.values().map(|pin| pin.at.distance(at));
        pins.fold(reach_mm, f64::min)
    });
    app.derived.flags.with_untracked(|flags| {
        let near = flags
            .iter()
            .map(|(index, flag)| (*index, flag.at.distance(at)))
            .filter(|(_, mm)| *mm <= reach_mm);
        near.min_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(index, _)| index)
    })
}

/// Frames around the selected records, and around those of the marked finding.
pub fn selection(app: App) -> String {
    let selected = app.view.selection.get();
    let marked: Vec<Key> = app.derived.verdict.with(|verdict| {
        let finding = app
            .view
            .marked
            .get()
            .and_then(|index| verdict.findings.get(index));
        finding
            .into_iter()
            .flat_map(|finding| finding.at.iter().filter_map(record_of))
            .collect()
    });
    app.derived.scene.with(|scene| {
        let mut text = String::new();
        for (key, class) in selected
            .iter()
            .map(|key| (key, "chosen"))
            .chain(marked.iter().map(|key| (key, "marked")))
        {
            frame(app, scene, key, class, &mut text);
        }
        text
    })
}

fn frame(app: App, scene: &Scene, key: &Key, class: &str, text: &mut String) {
    if let Key::Wire(id) = key {
        for path in scene.paths.get(id).into_iter().flatten() {
            text.push_str(&format!(
                "<path class=\"{class} line\" d=\"{}\"/>",
                line(path)
            ));
        }
        return;
    }
    if let Key::Cable(id) = key {
        let cores = app
            .session
            .peek(|document| document.cables.get(id).map(|cable| cable.wires.clone()));
        for core in cores.into_iter().flatten() {
            frame(app, scene, &Key::Wire(core), class, text);
        }
        return;
    }
    for rect in rects_of(app, scene, key) {
        let rect = rect.grown(1.2);
        text.push_str(&format!(
            "<rect class=\"{class}\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" rx=\"1.2\"/>",
            rect.x, rect.y, rect.w, rect.h
        ));
    }
}

/// What the tool shows.
pub fn ghosts(ghosts: &[Ghost]) -> String {
    ghosts
        .iter()
        .map(|ghost| match ghost {
            Ghost::Line(points) => format!("<path class=\"ghost\" d=\"{}\"/>", line(points)),
            Ghost::SheetPoint(at) => {
                format!(
                    "<circle class=\"ghost\" cx=\"{}\" cy=\"{}\" r=\"1.8\"/>",
                    at.x, at.y
                )
            }
            Ghost::Box(rect) => format!(
                "<rect class=\"brush\" x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/>",
                rect.x, rect.y, rect.w, rect.h
            ),
        })
        .collect()
}

fn line(points: &[Point]) -> String {
    points
        .iter()
        .enumerate()
        .map(|(i, p)| format!("{}{:.2} {:.2}", if i == 0 { 'M' } else { 'L' }, p.x, p.y))
        .collect()
}
