//! What the drawing surface holds: camera, gestures, the tool's machine, the painter.

use leptos::{ev, prelude::*};
use loomwright_core::order::Sorted;
use loomwright_core::{
    document::End,
    drawing::{
        GroupKey, Scene,
        geometry::{Point, Rect},
    },
    edit::Key,
};
use web_sys::Element;

use super::{
    gestures::{Act, Gestures, Kind, Phase, Pointer},
    held::{self, Held},
    hover, input, over,
    paint::Painter,
};
use crate::{
    App,
    commands::operate,
    derived::boxes::bounds_of,
    platform::resized::Resized,
    strings,
    tools::{At, Input, Reply, Tool, World, hit, machine},
    view::{Addition, Ghost, Panel, ToolKind, camera::Camera},
};

/// Pixels a pointer may tremble in a tap.
const SLOP_PX: f64 = 6.0;
/// Pixels a millimetre at which names can be read on a screen.
const READABLE: f64 = 4.0;

/// Pixels a millimetre at which names can just be read: type of 2.4 mm is 9 px.
const READABLE_LEAST: f64 = 3.6;

/// Pixels kept between what must be seen and the edge.
const EDGE_PX: f64 = 24.0;

struct Hands {
    gestures: Gestures,
    painter: Painter,
    tool: Box<dyn Tool>,
    drawing: Option<Element>,
    resized: Option<Resized>,
    kind: Kind,
    extend: bool,
    /// The sheet that the camera was last fitted to.
    fitted: Option<String>,
}

/// The drawing surface's state. Copy it freely.
#[derive(Clone, Copy)]
pub struct Board {
    app: App,
    hands: StoredValue<Hands, LocalStorage>,
    /// Where the sheet stands.
    pub camera: RwSignal<Camera>,
    /// What the tool shows.
    pub ghosts: RwSignal<Vec<Ghost>>,
    /// Width and height of the surface, pixels.
    pub size: RwSignal<(f64, f64)>,
    /// Where a finger works a tool that aims at pins: the glass lies beside it. Pixels.
    pub lens: RwSignal<Option<(f64, f64)>>,
    /// True while two fingers zoom: lines are drawn without smoothing, as fast as they can be.
    pub pinching: RwSignal<bool>,
    /// True while a pen is in use.
    pub pen: RwSignal<bool>,
    /// True if the wire tool draws wires at several pins.
    pub several: RwSignal<bool>,
    /// The record that a menu is open for, and where. Pixels.
    pub menu: RwSignal<Option<(f64, f64, Key)>>,
    /// The card of what a pointer rests on, and where. Pixels.
    pub hover: RwSignal<Option<(f64, f64, Vec<String>)>>,
    /// Where a pointer rests on something. Pixels.
    pub rests: StoredValue<Option<(f64, f64)>>,
    /// Where a finger rests that opens a menu if it stays.
    pub held: StoredValue<Option<Held>>,
    /// The device that the device tool adds.
    pub adding: RwSignal<Option<Addition>>,
}

impl Board {
    /// A board for this app, with the view's tool in hand.
    pub fn new(app: App) -> Self {
        let board = Self {
            app,
            hands: StoredValue::new_local(Hands {
                gestures: Gestures::default(),
                painter: Painter::default(),
                tool: machine(ToolKind::Select, None),
                drawing: None,
                resized: None,
                kind: Kind::Mouse,
                extend: false,
                fitted: None,
            }),
            camera: RwSignal::new(Camera::default()),
            ghosts: RwSignal::new(Vec::new()),
            size: RwSignal::new((0.0, 0.0)),
            lens: RwSignal::new(None),
            pinching: RwSignal::new(false),
            pen: RwSignal::new(false),
            several: RwSignal::new(false),
            menu: RwSignal::new(None),
            hover: RwSignal::new(None),
            rests: StoredValue::new(None),
            held: StoredValue::new(None),
            adding: RwSignal::new(None),
        };
        Effect::new(move |_| {
            let tool = app.view.tool.get();
            let device = board.adding.get();
            board.escape_quietly();
            board
                .hands
                .update_value(|hands| hands.tool = machine(tool, device));
        });
        Effect::new(move |_| {
            let draw = app.settings.with(|settings| settings.fingers_draw);
            board.gestures(|gestures| gestures.let_fingers_draw(draw));
        });
        board
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

    /// Measures the surface. The panel takes room from it: what is selected stays in sight.
    fn measure(self) {
        let Some(drawing) = self.drawing() else {
            return;
        };
        let rect = drawing.get_bounding_client_rect();
        let size = (rect.width(), rect.height());
        if self.size.get_untracked() != size {
            self.size.set(size);
            self.keep_in_sight();
        }
    }

    /// The surface goes away; the page's elements with it.
    pub fn leave(self) {
        self.escape_quietly();
        held::stop(self);
        self.keep_place();
        self.hands.update_value(|hands| {
            hands.drawing = None;
            hands.resized = None;
            hands.painter.clear();
        });
    }

    fn drawing(self) -> Option<Element> {
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

    /// The tool in hand, for the styles.
    pub fn tool_word(self) -> String {
        format!("{:?}", self.app.view.tool.get()).to_ascii_lowercase()
    }

    /// How much a millimetre mark grows to keep about its size on the screen when zoomed out: in steps, since each
    /// one styles every record of the sheet anew.
    pub fn unzoom(self) -> f64 {
        let grown = (READABLE / self.camera.get().scale).max(1.0);
        2_f64.powf((grown.log2() * 2.0).round() / 2.0)
    }

    // Camera

    /// Sets the camera, keeping the paper on the screen.
    pub fn look(self, camera: Camera) {
        let (w, h) = self.size.get_untracked();
        let paper = self
            .app
            .derived
            .scene
            .with_untracked(|scene| (scene.width_mm, scene.height_mm));
        self.camera.set(camera.kept(paper, w, h));
    }

    /// Zooms about the middle.
    pub fn zoom(self, factor: f64) {
        let (w, h) = self.size.get_untracked();
        self.look(self.camera.get_untracked().zoomed(w / 2.0, h / 2.0, factor));
    }

    /// Shows the whole sheet.
    pub fn fit(self) {
        let (w, h) = self.size.get_untracked();
        let paper = self
            .app
            .derived
            .scene
            .with_untracked(|scene| Rect::new(0.0, 0.0, scene.width_mm, scene.height_mm));
        if w > 0.0 && paper.w > 0.0 {
            self.look(Camera::fitted(paper, w, h, READABLE * 1.5));
        }
    }

    /// Shows what is drawn, large enough to be read, from its top left corner on.
    fn begin_readable(self) {
        let (w, h) = self.size.get_untracked();
        let drawn = self.app.derived.scene.with_untracked(|scene| {
            let paper = Rect::new(0.0, 0.0, scene.width_mm, scene.height_mm);
            let drawn = scene
                .groups
                .iter()
                .filter(|(key, _)| **key != GroupKey::Frame);
            drawn
                .map(|(_, group)| group.bounds)
                .reduce(Rect::union)
                .unwrap_or(paper)
        });
        let drawn = drawn.grown(8.0);
        let whole = Camera::fitted(drawn, w, h, 1.5 * READABLE);
        if whole.scale >= READABLE_LEAST {
            self.look(whole);
        } else {
            // On a tall screen as large as its height takes.
            let scale = (h / drawn.h.max(1.0)).clamp(READABLE_LEAST, READABLE);
            self.look(Camera {
                scale,
                x: -drawn.x * scale,
                y: -drawn.y * scale,
            });
        }
    }

    /// Keeps where the sheet stands, for when it is shown again.
    fn keep_place(self) {
        if let Some(sheet) = self.hands.with_value(|hands| hands.fitted.clone()) {
            let camera = self.camera.get_untracked();
            self.app.view.looked.update_value(|looked| {
                looked.insert(sheet, camera);
            });
        }
    }

    /// Shows the sheet as it was left, or from its beginning, if it is not the one shown before.
    pub fn fit_once(self) {
        let sheet = self.app.view.sheet.get_untracked();
        let wanted = format!("{}/{sheet:?}", self.app.session.id());
        let known = self
            .hands
            .with_value(|hands| hands.fitted.as_ref() == Some(&wanted));
        if !known && self.size.get_untracked().0 > 0.0 && sheet.is_some() {
            self.keep_place();
            let left = self
                .app
                .view
                .looked
                .with_value(|looked| looked.get(&wanted).copied());
            self.hands.update_value(|hands| hands.fitted = Some(wanted));
            match left {
                Some(camera) => self.look(camera),
                None => self.begin_readable(),
            }
        }
    }

    /// Brings records into view.
    pub fn bring(self, keys: &[Key]) {
        let bounds = self
            .app
            .derived
            .scene
            .with_untracked(|scene| bounds_of(self.app, scene, keys));
        let Some(bounds) = bounds else { return };
        let (w, h) = self.size.get_untracked();
        let camera = self.camera.get_untracked();
        let wide = Camera::fitted(bounds.grown(20.0), w, h, camera.scale.max(READABLE));
        self.look(wide);
    }

    /// Moves the sheet as little as brings the selected records into view.
    fn keep_in_sight(self) {
        let keys: Vec<Key> = self
            .app
            .view
            .selection
            .get_untracked()
            .into_iter()
            .collect();
        let bounds = self
            .app
            .derived
            .scene
            .with_untracked(|scene| bounds_of(self.app, scene, &keys));
        let Some(bounds) = bounds else { return };
        let (w, h) = self.size.get_untracked();
        let camera = self.camera.get_untracked();
        let (left, top) = camera.to_screen(Point {
            x: bounds.x,
            y: bounds.y,
        });
        let (right, bottom) = camera.to_screen(Point {
            x: bounds.right(),
            y: bounds.bottom(),
        });
        let shift = |low: f64, high: f64, room: f64| {
            if high > room - EDGE_PX {
                (room - EDGE_PX - high).max(EDGE_PX - low)
            } else {
                (EDGE_PX - low).max(0.0)
            }
        };
        let (dx, dy) = (shift(left, right, w), shift(top, bottom, h));
        if (dx, dy) != (0.0, 0.0) {
            self.look(camera.panned(dx, dy));
        }
    }

    // Pointers

    /// A pointer goes down.
    pub fn press(self, event: &ev::PointerEvent) {
        let Some((drawing, p)) = self.pointer(event) else {
            return;
        };
        // A browser that will not capture still sends the events while over the drawing.
        let _ = drawing.set_pointer_capture(event.pointer_id());
        crate::platform::focus::focus_element(&drawing);
        self.menu.set(None);
        hover::away(self);
        self.aim(Some(p));
        let wants = self.hands.with_value(|hands| hands.tool.wants_paper());
        let grip = wants || self.under(p.kind, p.x, p.y).is_some();
        self.act(|gestures| gestures.press(p, grip));
        held::begin(self, p, grip);
        held::watch_pen(self);
    }

    /// A pointer moves.
    pub fn moved(self, event: &ev::PointerEvent) {
        if let Some((_, p)) = self.pointer(event) {
            if self.lens.with_untracked(Option::is_some) {
                self.aim(Some(p));
            }
            held::moved(self, p);
            if p.kind != Kind::Touch && event.buttons() == 0 {
                hover::rest(self, p.x, p.y, self.under(p.kind, p.x, p.y));
            }
            self.act(|gestures| gestures.moved(p));
        }
    }

    /// A pointer goes up.
    pub fn release(self, event: &ev::PointerEvent) {
        held::stop(self);
        if let Some((_, p)) = self.pointer(event) {
            self.aim(None);
            self.act(|gestures| gestures.release(p));
        }
    }

    /// The browser takes a pointer away.
    pub fn cancel(self, event: &ev::PointerEvent) {
        held::stop(self);
        if let Some((_, p)) = self.pointer(event) {
            self.aim(None);
            self.act(|gestures| gestures.cancel(p));
        }
    }

    /// Lays the glass beside a finger that aims, or takes it away.
    fn aim(self, at: Option<Pointer>) {
        let tool = self.app.view.tool.get_untracked();
        let aims = matches!(tool, ToolKind::Wire | ToolKind::Splice | ToolKind::Cable);
        let at = at
            .filter(|p| aims && p.kind == Kind::Touch)
            .map(|p| (p.x, p.y));
        if self.lens.get_untracked() != at {
            self.lens.set(at);
        }
    }

    /// Opens the menu of what is under the pointer: the other mouse button, or a finger held there.
    pub fn open_menu(self, event: &ev::MouseEvent) {
        event.prevent_default();
        let Some(drawing) = self.drawing() else {
            return;
        };
        // A finger that aims at a pin takes its time.
        if self.lens.with_untracked(Option::is_none) {
            let (x, y) = input::place(event, &drawing);
            held::drop_begun(self);
            self.show_menu(x, y);
        }
    }

    /// Opens the menu of what is under a place of the surface, pixels.
    pub fn show_menu(self, x: f64, y: f64) {
        let kind = self.hands.with_value(|hands| hands.kind);
        let sheet = self.app.view.sheet.get_untracked();
        let key = self.under(kind, x, y).and_then(|hit| {
            self.app
                .session
                .peek(|document| hit::key(document, sheet.as_ref()?, &hit))
        });
        let Some(key) = key else { return };
        if self
            .app
            .view
            .selection
            .with_untracked(|keys| !keys.contains(&key))
        {
            self.app.view.selection.set(Sorted::from([key.clone()]));
        }
        self.menu.set(Some((x, y, key)));
    }

    /// The wheel zooms about the pointer.
    pub fn wheel(self, event: &ev::WheelEvent) {
        event.prevent_default();
        let Some(drawing) = self.drawing() else {
            return;
        };
        let (x, y) = input::place(event, &drawing);
        let camera = self.camera.get_untracked();
        self.look(camera.zoomed(x, y, input::wheel_factor(event)));
    }

    fn pointer(self, event: &ev::PointerEvent) -> Option<(Element, Pointer)> {
        let drawing = self.drawing()?;
        let p = input::pointer(event, &drawing);
        self.hands.update_value(|hands| {
            hands.kind = p.kind;
            let several = self.several.get_untracked()
                && self.app.view.tool.get_untracked() == ToolKind::Wire;
            hands.extend = several || event.shift_key() || event.ctrl_key() || event.meta_key();
        });
        Some((drawing, p))
    }

    fn under(self, kind: Kind, x: f64, y: f64) -> Option<hit::Hit> {
        let camera = self.camera.get_untracked();
        let reach = input::reach_px(kind) / camera.scale;
        self.app
            .derived
            .scene
            .with_untracked(|scene| hit::find(scene, camera.to_sheet(x, y), reach))
    }

    /// Reads what the gestures know, or tells them something.
    pub fn gestures<T>(self, tell: impl FnOnce(&mut Gestures) -> T) -> Option<T> {
        self.hands
            .try_update_value(|hands| tell(&mut hands.gestures))
    }

    fn act(self, tell: impl FnOnce(&mut Gestures) -> Vec<Act>) {
        let told = self.gestures(|gestures| (tell(gestures), gestures.is_pinching()));
        let Some((acts, pinching)) = told else {
            return;
        };
        if self.pinching.get_untracked() != pinching {
            self.pinching.set(pinching);
        }
        self.obey(acts);
    }

    /// Does what the gestures answer.
    pub fn obey(self, acts: Vec<Act>) {
        for act in acts {
            match act {
                Act::Tool(phase, x, y) => self.tool(phase, x, y),
                Act::Drop => self.tell(&Input::Escape),
                Act::Pan(dx, dy) => self.look(self.camera.get_untracked().panned(dx, dy)),
                Act::Zoom(x, y, factor) => {
                    self.look(self.camera.get_untracked().zoomed(x, y, factor));
                }
            }
        }
    }

    fn tool(self, phase: Phase, x: f64, y: f64) {
        let (kind, extend) = self.hands.with_value(|hands| (hands.kind, hands.extend));
        if phase == Phase::Press && self.press_on_flag(x, y, kind) {
            return;
        }
        let camera = self.camera.get_untracked();
        let at = At {
            point: camera.to_sheet(x, y),
            hit: self.under(kind, x, y),
            extend,
            pen: kind == Kind::Pen,
            slop_mm: SLOP_PX / camera.scale,
        };
        self.tell(&match phase {
            Phase::Press => Input::Press(at),
            Phase::Move => Input::Move(at),
            Phase::Release => Input::Release(at),
        });
    }

    /// A tap on a finding's flag opens it. True if there was one.
    fn press_on_flag(self, x: f64, y: f64, kind: Kind) -> bool {
        let camera = self.camera.get_untracked();
        let at = camera.to_sheet(x, y);
        let reach = (2.6 * self.unzoom()).max(input::reach_px(kind) / 2.0 / camera.scale);
        let Some(index) = over::flag_at(self.app, at, reach) else {
            return false;
        };
        self.app.view.marked.set(Some(index));
        self.app.view.panel.set(Panel::Findings);
        true
    }

    // Tool

    /// Tells the tool, and does what it answers.
    pub fn tell(self, input: &Input) {
        let App {
            session,
            view,
            derived,
            ..
        } = self.app;
        let Some(sheet) = view.sheet.get_untracked() else {
            return;
        };
        let aside = session.lay_draft_aside();
        let scene = derived.scene.get_untracked();
        let selection = view.selection.get_untracked();
        let reply = self.hands.try_update_value(|hands| {
            session.peek(|document| {
                let world = World {
                    document,
                    sheet: &sheet,
                    scene: &scene,
                    selection: &selection,
                };
                hands.tool.on(input, &world)
            })
        });
        let Some(reply) = reply else { return };
        self.answer(reply, aside, &selection);
    }

    fn answer(
        self,
        reply: Reply,
        aside: Option<loomwright_core::edit::Change>,
        before: &Sorted<Key>,
    ) {
        let App { session, view, .. } = self.app;
        let mut made = true;
        match (reply.commit, reply.draft) {
            (Some((label, change)), _) => made = session.try_run(label, change),
            (None, Some(draft)) => session.show_draft(draft),
            (None, None) => {
                if aside.is_some() {
                    session.show_draft(aside);
                }
            }
        }
        if self.ghosts.with_untracked(|ghosts| *ghosts != reply.ghosts) {
            self.ghosts.set(reply.ghosts);
        }
        if let Some(selection) = reply.select.filter(|_| made) {
            let empty = selection.is_empty();
            if selection != *before {
                view.selection.set(selection);
            }
            if reply.details && !empty {
                view.panel.set(Panel::Details);
            } else if empty && view.panel.get_untracked() == Panel::Details {
                view.panel.set(Panel::Closed);
            }
        }
        if let Some(key) = reply.operate {
            operate::operate(self.app, &key);
        }
        if reply.done && made {
            self.adding.set(None);
            view.tool.set(ToolKind::Select);
        }
    }

    /// Drops what was begun without leaving the tool.
    fn escape_quietly(self) {
        self.app.session.show_draft(None);
        if self.ghosts.with_untracked(|ghosts| !ghosts.is_empty()) {
            self.ghosts.set(Vec::new());
        }
    }

    /// Begins a wire at an end chosen from a list, or ends the one begun there.
    pub fn begin_or_end_wire(self, end: End) {
        let spot = self.app.derived.scene.with_untracked(|scene| {
            let found = scene.pins.iter().find(|(_, spot)| spot.end == end);
            found.map(|((item, _), spot)| (item.clone(), spot.at))
        });
        let Some((item, at)) = spot else {
            self.app.session.say(strings::NOT_ON_SHEET.into());
            return;
        };
        let press = Input::Press(At {
            point: at,
            hit: Some(hit::Hit::Pin { end, at, item }),
            extend: false,
            pen: false,
            slop_mm: 0.0,
        });
        // Taken up anew, it would forget where the wire begins.
        if self.app.view.tool.get_untracked() != ToolKind::Wire {
            self.app.view.tool.set(ToolKind::Wire);
        }
        // The tool's machine is changed by an effect; it is told after that ran.
        leptos::task::spawn_local(async move {
            leptos::task::tick().await;
            self.tell(&press);
        });
    }
}
