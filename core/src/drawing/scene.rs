//! What is painted of one sheet: plain shapes in groups, one group a record, each with the key of its record. Inks
//! are classes, not colors: a theme gives them colors.

use crate::order::Map;
use std::sync::Arc;

pub use super::text::Anchor;
use super::{
    geometry::{Facing, Point, Rect},
    paths::RoutedPaths,
};
use crate::{
    document::End,
    ids::{CableId, ItemId, TerminalId, WireId},
};

/// What is painted of one sheet.
///
/// Groups are shared: a group that did not change between two scenes compares equal, and is the same `Arc` if
/// [`super::rescene`] made the second one.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Scene {
    /// Width of the paper, mm.
    pub width_mm: f64,
    /// Height of the paper, mm.
    pub height_mm: f64,
    /// The groups, in the order of painting.
    pub groups: Map<GroupKey, Arc<Group>>,
    /// Where wires can end. A splice or structure item has one pin with an empty terminal id.
    pub pins: Map<(ItemId, TerminalId), PinSpot>,
    /// The box of each item, which wires go around.
    pub boxes: Map<ItemId, Rect>,
    /// The path of each wire: corners in order, `from` first. A wire that continues elsewhere has
    /// only its stubs.
    pub paths: Map<WireId, Vec<Vec<Point>>>,
    /// The boxes of each cable's sleeves.
    pub sleeves: Map<CableId, Vec<Rect>>,
    /// How its wires were laid, for the next scene of the sheet.
    pub(super) lay: Option<Arc<RoutedPaths>>,
}

impl Scene {
    /// True if no wire was routed again between two scenes of a sheet.
    pub fn has_paths_of(&self, other: &Self) -> bool {
        match (&self.lay, &other.lay) {
            (Some(ours), Some(theirs)) => Arc::ptr_eq(ours, theirs),
            _ => false,
        }
    }
}

/// The kind of record that a group shows, in painting order.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum GroupKey {
    /// Border and title block.
    Frame,
    /// What the signs on the sheet mean.
    Legend,
    /// A free text, by its place in the sheet's list.
    Note(usize),
    /// Sleeve and mark of a cable.
    Cable(CableId),
    /// A wire with its text.
    Wire(WireId),
    /// An item: device, splice, structure point.
    Item(ItemId),
    /// What was written by hand, on top of everything.
    Ink,
}

/// The shapes of one record.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Group {
    /// What to paint, in order.
    pub shapes: Vec<Shape>,
    /// Box around them.
    pub bounds: Rect,
    /// The description for screen readers.
    pub label: String,
}

impl Group {
    /// A group of these shapes.
    pub fn new(shapes: Vec<Shape>, label: impl Into<String>) -> Self {
        let bounds = shapes.iter().map(Shape::bounds).reduce(Rect::union);
        Self {
            bounds: bounds.unwrap_or_default(),
            shapes,
            label: label.into(),
        }
    }
}

/// Where a wire can end.
#[derive(Clone, Debug, PartialEq)]
pub struct PinSpot {
    /// The point.
    pub at: Point,
    /// The direction in which a wire leaves.
    pub facing: Facing,
    /// The end of a wire that is put there.
    pub end: End,
}

/// A plain shape.
#[derive(Clone, Debug, PartialEq)]
pub enum Shape {
    /// A line through some points.
    Line {
        /// The points.
        points: Vec<Point>,
        /// Ink.
        ink: Ink,
        /// Width, mm.
        weight_mm: f64,
        /// Broken or not.
        dash: Dash,
    },
    /// A closed area through some points.
    Area {
        /// The corners.
        points: Vec<Point>,
        /// Ink of the inside.
        fill: Ink,
    },
    /// A box.
    Rect {
        /// The box.
        rect: Rect,
        /// Radius of its corners, mm.
        radius_mm: f64,
        /// Ink of the inside, if it is filled.
        fill: Option<Ink>,
        /// Ink of its edge.
        ink: Ink,
        /// Width of its edge, mm.
        weight_mm: f64,
        /// Broken or not.
        dash: Dash,
    },
    /// A circle.
    Circle {
        /// Its middle.
        centre: Point,
        /// Its radius, mm.
        radius_mm: f64,
        /// Ink of the inside, if it is filled.
        fill: Option<Ink>,
        /// Ink of its edge.
        ink: Ink,
        /// Width of its edge, mm.
        weight_mm: f64,
    },
    /// An arc of a circle, at most half of it.
    Arc {
        /// First end.
        from: Point,
        /// Last end.
        to: Point,
        /// Radius, mm.
        radius_mm: f64,
        /// True if it turns clockwise from first to last as seen on the sheet.
        clockwise: bool,
        /// Ink.
        ink: Ink,
        /// Width, mm.
        weight_mm: f64,
        /// Broken or not.
        dash: Dash,
    },
    /// One line of text.
    Text {
        /// Where: on the base line.
        at: Point,
        /// The text, as typed; whoever writes markup escapes it.
        text: String,
        /// Height of the type, mm.
        size_mm: f64,
        /// The part of the text that is at the point.
        anchor: Anchor,
        /// Ink.
        ink: Ink,
        /// True for bold type.
        bold: bool,
        /// True if it reads upwards (turned a quarter to the left around the point).
        upward: bool,
    },
}

impl Shape {
    /// A box around the shape; for text an estimate.
    pub fn bounds(&self) -> Rect {
        match self {
            Self::Line {
                points, weight_mm, ..
            } => Rect::around(points.iter().copied()).grown(weight_mm / 2.0),
            Self::Area { points, .. } => Rect::around(points.iter().copied()),
            Self::Rect {
                rect, weight_mm, ..
            } => rect.grown(weight_mm / 2.0),
            Self::Circle {
                centre,
                radius_mm,
                weight_mm,
                ..
            } => Rect::around([*centre]).grown(radius_mm + weight_mm / 2.0),
            Self::Arc {
                from,
                to,
                radius_mm,
                weight_mm,
                ..
            } => Rect::around([*from, *to]).grown(radius_mm + weight_mm / 2.0),
            Self::Text {
                at,
                text,
                size_mm,
                anchor,
                bold,
                upward,
                ..
            } => super::text::bounds(*at, text, *size_mm, *anchor, *bold, *upward),
        }
    }
}

/// How a line is broken.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Dash {
    /// Not at all.
    #[default]
    None,
    /// 1.6 mm on, 1 mm off: shields, mechanical links.
    Dashed,
    /// 0.5 mm on, 0.9 mm off: an edge that marks more pins beyond it.
    Dotted,
    /// 2 mm on, 2 mm off: the second color of an insulation.
    Stripe,
}

impl Dash {
    /// Lengths on and off, mm, as an SVG dash list; empty for an unbroken line.
    pub fn pattern(self) -> &'static str {
        match self {
            Self::None => "",
            Self::Dashed => "1.6 1",
            Self::Dotted => "0.5 0.9",
            Self::Stripe => "2 2",
        }
    }
}

/// The ink of a line or area. A theme gives each class a color.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Ink {
    /// The paper itself: gaps where wires cross.
    Paper,
    /// Outlines of devices.
    Outline,
    /// Inside of devices.
    Body,
    /// Thick metal: bus bars, ground bars, splices.
    Metal,
    /// Edge of a wire.
    Hairline,
    /// Core of a wire, in the color of its insulation.
    Core(Colour),
    /// Shields and mechanical links.
    Shield,
    /// Text that must be read.
    Label,
    /// Text and lines of less weight.
    Dim,
    /// Border and title block.
    Frame,
    /// A wire that is live in the state shown.
    Live,
    /// The selection.
    Selected,
    /// Flag of a hazard.
    Hazard,
    /// Flag of a fault.
    Fault,
    /// Flag of a caution.
    Caution,
    /// Flag of a note.
    Note,
    /// Number on a flag.
    OnFlag,
}

impl Ink {
    /// Every ink except the cores, which are [`Colour::ALL`].
    pub const PLAIN: &[Self] = &[
        Self::Paper,
        Self::Outline,
        Self::Body,
        Self::Metal,
        Self::Hairline,
        Self::Shield,
        Self::Label,
        Self::Dim,
        Self::Frame,
        Self::Live,
        Self::Selected,
        Self::Hazard,
        Self::Fault,
        Self::Caution,
        Self::Note,
        Self::OnFlag,
    ];

    /// The class name in markup.
    pub fn class(self) -> &'static str {
        match self {
            Self::Paper => "paper",
            Self::Outline => "outline",
            Self::Body => "body",
            Self::Metal => "metal",
            Self::Hairline => "hairline",
            Self::Core(colour) => colour.class(),
            Self::Shield => "shield",
            Self::Label => "label",
            Self::Dim => "dim",
            Self::Frame => "frame",
            Self::Live => "live",
            Self::Selected => "selected",
            Self::Hazard => "hazard",
            Self::Fault => "fault",
            Self::Caution => "caution",
            Self::Note => "note",
            Self::OnFlag => "on-flag",
        }
    }
}

macro_rules! colours {
    ($($(#[$doc:meta])* $name:ident $class:literal $($word:literal)*;)*) => {
        /// Color of an insulation.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Colour { $($(#[$doc])* $name,)* }

        impl Colour {
            /// Every color.
            pub const ALL: &[Self] = &[$(Self::$name,)*];

            /// The class name in markup.
            pub fn class(self) -> &'static str {
                match self { $(Self::$name => $class,)* }
            }

            /// The color with this name.
            fn of_word(word: &str) -> Option<Self> {
                match word { $($($word)|* => Some(Self::$name),)* _ => None }
            }
        }
    };
}

colours! {
    /// White.
    White "core-white" "white" "wht" "wh";
    /// Black.
    Black "core-black" "black" "blk" "bk";
    /// Red.
    Red "core-red" "red" "rd";
    /// Blue.
    Blue "core-blue" "blue" "blu" "bl";
    /// Orange.
    Orange "core-orange" "orange" "org";
    /// Yellow.
    Yellow "core-yellow" "yellow" "yel";
    /// Green.
    Green "core-green" "green" "grn";
    /// Brown.
    Brown "core-brown" "brown" "brn";
    /// Violet.
    Violet "core-violet" "violet" "purple" "vio";
    /// Gray.
    Grey "core-grey" "grey" "gray" "gry" "silver";
    /// Pink.
    Pink "core-pink" "pink";
    /// Tan.
    Tan "core-tan" "tan" "natural" "clear";
    /// Any other word, or none.
    Other "core-other" "other";
}

impl Colour {
    /// Main color and stripe of an insulation, from words such as "white", "white/blue", "white with blue stripe".
    pub fn parse(text: &str) -> (Self, Option<Self>) {
        let text = text.to_ascii_lowercase();
        let mut found = text
            .split(|c: char| !c.is_alphabetic())
            .filter_map(Self::of_word);
        let main = found.next().unwrap_or(Self::Other);
        (main, found.find(|stripe| *stripe != main))
    }
}
