//! Colors of the inks. The app writes [`classes`] once and the values of a theme as custom properties; a sheet as
//! SVG carries both.

use std::fmt::Write;

use super::scene::{Colour, Ink};

/// A set of colors for the inks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Theme {
    /// Ink on off-white paper.
    Light,
    /// The same drawing at night.
    Dark,
    /// Full contrast for a tablet in the sun.
    Sun,
    /// Black on white, for print: a wire is a black line, a white one hollow, with its color written next to its number.
    BlackAndWhite,
}

/// Rules that give each ink's classes its custom property: `s-NAME` for lines, `f-NAME` for areas
/// and text.
pub fn classes() -> String {
    let mut css = String::from(
        ".loom path,.loom rect,.loom circle{fill:none;stroke:none;stroke-linejoin:round;\
         stroke-linecap:round}.loom text{font-family:sans-serif;white-space:pre}.loom .b{font-weight:700}\n",
    );
    for ink in inks() {
        let name = ink.class();
        let _ = writeln!(
            css,
            ".loom .s-{name}{{stroke:var(--ink-{name})}}.loom .f-{name}{{fill:var(--ink-{name})}}"
        );
    }
    css
}

/// The custom properties of a theme, as declarations: `--ink-outline:#2a2d31;…`.
pub fn properties(theme: Theme) -> String {
    let mut css = String::new();
    for ink in inks() {
        let _ = write!(css, "--ink-{}:{};", ink.class(), colour(theme, ink));
    }
    css
}

fn inks() -> impl Iterator<Item = Ink> {
    let cores = Colour::ALL.iter().map(|colour| Ink::Core(*colour));
    Ink::PLAIN.iter().copied().chain(cores)
}

/// The color of an ink: light, dark, in the sun, in print.
fn colour(theme: Theme, ink: Ink) -> &'static str {
    let [light, dark, sun, print] = match ink {
        Ink::Paper => ["#faf8f2", "#17191c", "#ffffff", "#ffffff"],
        Ink::Outline | Ink::Metal => ["#2a2d31", "#cfd3d8", "#000000", "#000000"],
        Ink::Body => ["#fffefb", "#1f2226", "#ffffff", "#ffffff"],
        Ink::Hairline => ["#26282b", "#0b0c0d", "#000000", "#000000"],
        Ink::Shield => ["#5d646c", "#98a1ab", "#222222", "#333333"],
        Ink::Label => ["#1d1f22", "#e8eaed", "#000000", "#000000"],
        Ink::Dim => ["#5f656d", "#9aa2ab", "#222222", "#333333"],
        Ink::Frame => ["#80858c", "#5d646c", "#000000", "#000000"],
        Ink::Live => ["#86198f", "#e9a1f5", "#66006e", "#000000"],
        Ink::Selected => ["#0b63ce", "#6cb2ff", "#0033bb", "#000000"],
        Ink::Hazard => ["#b3141b", "#ff6b6b", "#a00000", "#000000"],
        Ink::Fault => ["#c2410c", "#ff9a5c", "#8a2d00", "#000000"],
        Ink::Caution => ["#8a6100", "#f2c94c", "#5c4000", "#000000"],
        Ink::Note => ["#1f5f99", "#7fb8ea", "#003a77", "#000000"],
        Ink::OnFlag => ["#ffffff", "#17191c", "#ffffff", "#ffffff"],
        Ink::Core(core) => core_colour(core),
    };
    match theme {
        Theme::Light => light,
        Theme::Dark => dark,
        Theme::Sun => sun,
        Theme::BlackAndWhite => print,
    }
}

fn core_colour(core: Colour) -> [&'static str; 4] {
    let (light, dark) = match core {
        Colour::White => ("#ffffff", "#f4f4f4"),
        Colour::Black => ("#26282b", "#5c6168"),
        Colour::Red => ("#d3232b", "#ff5a5f"),
        Colour::Blue => ("#2463c9", "#5e9bff"),
        Colour::Orange => ("#f08a1d", "#ffa94d"),
        Colour::Yellow => ("#f4d21f", "#ffe25a"),
        Colour::Green => ("#2a9247", "#53c274"),
        Colour::Brown => ("#8b5a2b", "#b98350"),
        Colour::Violet => ("#7d4bb5", "#b085e6"),
        Colour::Grey => ("#9aa0a6", "#a9b0b7"),
        Colour::Pink => ("#ef8fb4", "#ffa9c8"),
        Colour::Tan => ("#d8bf95", "#e2cda9"),
        Colour::Other => ("#c9ccd0", "#b7bcc2"),
    };
    let print = if core == Colour::White {
        light
    } else {
        "#000000"
    };
    [light, dark, light, print]
}
