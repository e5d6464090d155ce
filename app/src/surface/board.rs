//! What the drawing surface holds while it is on the page.

use leptos::{leptos_dom::helpers::TimeoutHandle, prelude::*};
use loomwright_core::{document::End, drawing::Scene, edit::Key};
use web_sys::Element;

use super::{
    gestures::{Gestures, Kind, Pointer},
    paint::Painter,
};
use crate::{
    App,
    commands::{drop_begun, sight},
    platform::resized::Resized,
    tools::{Tool, machine},
    view::{
        InkHand, ToolKind,
        camera::{Camera, READABLE},
    },
};

pub(super) struct Hands {
    gestures: Gestures,
    painter: Painter,
    tool: Box<dyn Tool>,
    /// How often a tool had been chosen when this one was.
    taken: u64,
    drawing: Option<Element>,
    resized: Option<Resized>,
    /// What points.
    pub(super) kind: Kind,
    /// How hard it presses, 0 to 1.
    pub(super) pressure: f64,
    /// True if it is the eraser end of a pen.
    pub(super) erases: bool,
    /// True if more than one thing is meant.
    pub(super) extend: bool,
}

/// A finger that rests.
#[derive(Clone, Copy, Debug)]
pub struct Held {
    /// Where it is.
    pub at: Pointer,
    /// What opens the menu.
    pub timer: TimeoutHandle,
}

/// Pins that a wire may end at.
#[derive(Clone)]
pub struct Offered {
    /// Where they are offered, pixels.
    pub at: (f64, f64),
    /// Where the wire begins.
    pub from: End,
    /// The pins, the nearest first.
    pub pins: Vec<End>,
}

/// The drawing surface's state. Copy it freely.
#[derive(Clone, Copy)]
pub struct Board {
    app: App,
    pub(super) hands: StoredValue<Hands, LocalStorage>,
    /// Where a finger works a tool that aims at pins: the glass is next to it. Pixels.
    pub lens: RwSignal<Option<(f64, f64)>>,
    /// True while two fingers zoom: lines are drawn without smoothing, as fast as they can be.
    pub pinching: RwSignal<bool>,
    /// True while a pen is in use.
    pub pen: RwSignal<bool>,
    /// True if the wire tool draws wires at several pins.
    pub several: RwSignal<bool>,
    /// The record that a menu is open for, and where. Pixels.
    pub menu: RwSignal<Option<(f64, f64, Key)>>,
    /// Pins that a wire may end at, to choose from.
    pub offered: RwSignal<Option<Offered>>,
    /// The card of what a pointer rests on, and where. Pixels.
    pub hover: RwSignal<Option<(f64, f64, Vec<String>)>>,
    /// Where a pointer rests on something. Pixels.
    pub rests: StoredValue<Option<(f64, f64)>>,
    /// Where a finger rests that opens a menu if it stays.
    pub held: StoredValue<Option<Held>>,
}

impl Board {
    /// A board for this app.
    pub fn new(app: App) -> Self {
        Self {
            app,
            hands: StoredValue::new_local(Hands {
                gestures: Gestures::default(),
                painter: Painter::default(),
                tool: machine(ToolKind::Select, None),
                taken: 0,
                drawing: None,
                resized: None,
                kind: Kind::Mouse,
                pressure: 0.0,
                erases: false,
                extend: false,
            }),
            lens: RwSignal::new(None),
            pinching: RwSignal::new(false),
            pen: RwSignal::new(false),
            several: RwSignal::new(false),
            menu: RwSignal::new(None),
            offered: RwSignal::new(None),
            hover: RwSignal::new(None),
            rests: StoredValue::new(None),
            held: StoredValue::new(None),
        }
    }

    /// The app behind the board.
    pub fn app(self) -> App {
        self.app
    }

    /// Remembers the element and its size, now and whenever it changes.
    pub fn attach(self, drawing: Element) {
        let resized = Resized::watch(&drawing, move || self.measure());
        self.hands.update_value(|hands| {
            hands.drawing = Some(drawing);
            hands.resized = resized;
        });
        self.measure();
    }

    fn measure(self) {
        if let Some(drawing) = self.drawing() {
            let rect = drawing.get_bounding_client_rect();
            sight::measured(self.app, (rect.width(), rect.height()));
        }
    }

    /// The surface goes away; the page's elements with it.
    pub fn leave(self) {
        drop_begun(self.app);
        self.app.view.adding.set(None);
        sight::left(self.app);
        self.hands.update_value(|hands| {
            hands.drawing = None;
            hands.resized = None;
            hands.painter.clear();
        });
    }

    /// The element on the page.
    pub(super) fn drawing(self) -> Option<Element> {
        self.hands.with_value(|hands| hands.drawing.clone())
    }

    /// Paints the scene into the layer.
    pub fn paint(self, layer: &Element, scene: &Scene) {
        self.hands.update_value(|hands| {
            self.app
                .session
                .peek(|document| hands.painter.paint(layer, scene, document));
        });
    }

    /// What is drawn of the scene, as markup.
    pub fn drawn(self) -> String {
        let scene = self
            .drawing()
            .and_then(|it| it.query_selector(".scene").ok()?);
        scene.map_or(String::new(), |it| it.inner_html())
    }

    /// Where the sheet is now.
    pub fn camera(self) -> Camera {
        self.app.derived.camera.get_untracked()
    }

    /// The current tool, for the styles.
    pub fn tool_word(self) -> String {
        format!("{:?}", self.app.view.tool.get()).to_ascii_lowercase()
    }

    /// How much a millimetre mark grows to keep about its size on the screen when zoomed out: in steps, since each
    /// one styles every record of the sheet again.
    pub fn unzoom(self) -> f64 {
        let grown = (READABLE / self.app.derived.camera.get().scale).max(1.0);
        2_f64.powf((grown.log2() * 2.0).round() / 2.0)
    }

    /// What the hand does with ink, by the tool, the buttons of the room, and the end of the pen.
    pub(super) fn ink_hand(self) -> Option<InkHand> {
        let view = self.app.view;
        let erases = self.hands.with_value(|hands| hands.erases);
        let selects = view.tool.get_untracked() == ToolKind::Select;
        selects.then(|| match erases {
            true => InkHand::Erase,
            false => view.ink.get_untracked(),
        })
    }

    /// Runs something on the machine of the current tool. A tool chosen since then begins at rest.
    pub(super) fn with_tool<T>(self, work: impl FnOnce(&mut dyn Tool) -> T) -> Option<T> {
        let view = self.app.view;
        let taken = view.taken.get_value();
        self.hands.try_update_value(|hands| {
            if hands.taken != taken {
                hands.taken = taken;
                hands.tool = machine(view.tool.get_untracked(), view.adding.get_untracked());
            }
            work(hands.tool.as_mut())
        })
    }

    /// Reads the state of the gestures, or changes it.
    pub fn gestures<T>(self, tell: impl FnOnce(&mut Gestures) -> T) -> Option<T> {
        self.hands
            .try_update_value(|hands| tell(&mut hands.gestures))
    }
}
