//! Fingers, pen and mouse: which of them moves the sheet and which works the tool. Pure.
//!
//! - mouse: the main button works the tool, another one drags the sheet;
//! - touch: one finger works the tool where there is something to take hold of, else it drags the
//!   sheet; two fingers drag and zoom;
//! - pen: always works the tool. While it is down every touch counts as the palm. While it is in use
//!   ([`PEN_REST_MS`]) one finger drags the sheet and taps, unless the person lets fingers draw as well.

/// What points.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Mouse, main button.
    Mouse,
    /// Mouse, another button.
    MouseOther,
    /// Finger.
    Touch,
    /// Pen.
    Pen,
}

/// One pointer event, in pixels from the drawing's top left corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pointer {
    /// The browser's number for it.
    pub id: i32,
    /// What it is.
    pub kind: Kind,
    /// Pixels from the left.
    pub x: f64,
    /// Pixels from the top.
    pub y: f64,
    /// When, ms, by the same clock for all of them.
    pub ms: f64,
}

/// Beginning, middle or end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// Goes down.
    Press,
    /// Moves.
    Move,
    /// Goes up.
    Release,
}

/// What is to be done.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Act {
    /// The tool is pressed, moved or released here.
    Tool(Phase, f64, f64),
    /// What the tool has begun is dropped.
    Drop,
    /// The sheet moves by some pixels.
    Pan(f64, f64),
    /// The sheet is zoomed about a point.
    Zoom(f64, f64, f64),
}

#[derive(Clone, Copy, Debug, Default, PartialEq)]
enum Mode {
    #[default]
    Idle,
    /// One pointer works the tool.
    Tool(i32),
    /// One pointer is down and may become a tap or drag the sheet.
    Undecided(i32, f64, f64),
    /// One pointer drags the sheet.
    Pan(i32, f64, f64),
    /// Two fingers.
    Pinch,
    /// One finger was held still, and is done.
    Held(i32),
}

/// Pixels a finger may tremble in a tap.
const SLOP_PX: f64 = 8.0;

/// A pen that is away for so long is put down, ms.
pub const PEN_REST_MS: f64 = 30_000.0;

/// Remembers who is down.
#[derive(Clone, Debug, Default)]
pub struct Gestures {
    mode: Mode,
    fingers: Vec<(i32, f64, f64)>,
    pen_down: bool,
    /// When the pen was used last, ms.
    pen_ms: Option<f64>,
    /// True if one finger works the tool while a pen is in use.
    fingers_draw: bool,
}

impl Gestures {
    /// Says whether one finger works the tool while a pen is in use.
    pub fn let_fingers_draw(&mut self, draw: bool) {
        self.fingers_draw = draw;
    }

    /// How long the pen stays in use if it does not come back, ms; none if no pen is in use.
    pub fn pen_left_ms(&self, now_ms: f64) -> Option<f64> {
        let left = PEN_REST_MS - (now_ms - self.pen_ms?);
        (left > 0.0).then_some(left)
    }

    /// The pointer that is down has rested where it went down: whatever it began is dropped, and it does nothing
    /// more. None if nothing rests there.
    pub fn hold(&mut self) -> Option<Vec<Act>> {
        let (id, acts) = match self.mode {
            Mode::Undecided(id, ..) => (id, Vec::new()),
            Mode::Tool(id) => (id, vec![Act::Drop]),
            _ => return None,
        };
        self.mode = Mode::Held(id);
        Some(acts)
    }

    /// A pointer goes down. `grip` is true if there is something under it to take hold of.
    pub fn press(&mut self, p: Pointer, grip: bool) -> Vec<Act> {
        match p.kind {
            Kind::Touch if self.pen_down => return Vec::new(),
            Kind::Touch => {
                self.fingers.push((p.id, p.x, p.y));
                if self.fingers.len() >= 2 {
                    let dropped = matches!(self.mode, Mode::Tool(_));
                    self.mode = Mode::Pinch;
                    return if dropped { vec![Act::Drop] } else { Vec::new() };
                }
            }
            Kind::Pen => {
                let dropped = matches!(self.mode, Mode::Tool(_));
                self.fingers.clear();
                self.pen_down = true;
                self.pen_ms = Some(p.ms);
                self.mode = Mode::Tool(p.id);
                let press = Act::Tool(Phase::Press, p.x, p.y);
                return if dropped {
                    vec![Act::Drop, press]
                } else {
                    vec![press]
                };
            }
            Kind::Mouse | Kind::MouseOther => {}
        }
        if self.mode != Mode::Idle {
            return Vec::new();
        }
        match p.kind {
            Kind::MouseOther => self.mode = Mode::Pan(p.id, p.x, p.y),
            Kind::Touch if !grip || self.pen_keeps_fingers(p.ms) => {
                self.mode = Mode::Undecided(p.id, p.x, p.y);
            }
            _ => {
                self.mode = Mode::Tool(p.id);
                return vec![Act::Tool(Phase::Press, p.x, p.y)];
            }
        }
        Vec::new()
    }

    fn pen_keeps_fingers(&self, now_ms: f64) -> bool {
        !self.fingers_draw && self.pen_left_ms(now_ms).is_some()
    }

    /// A pointer moves.
    pub fn moved(&mut self, p: Pointer) -> Vec<Act> {
        if p.kind == Kind::Pen {
            self.pen_ms = Some(p.ms);
        }
        match self.mode {
            Mode::Tool(id) if id == p.id => vec![Act::Tool(Phase::Move, p.x, p.y)],
            // A mouse or pen that hovers: the tool shows what it would do.
            Mode::Idle if p.kind != Kind::Touch => vec![Act::Tool(Phase::Move, p.x, p.y)],
            Mode::Undecided(id, x, y) if id == p.id => {
                if (p.x - x).hypot(p.y - y) < SLOP_PX {
                    return Vec::new();
                }
                self.mode = Mode::Pan(id, p.x, p.y);
                vec![Act::Pan(p.x - x, p.y - y)]
            }
            Mode::Pan(id, x, y) if id == p.id => {
                self.mode = Mode::Pan(id, p.x, p.y);
                vec![Act::Pan(p.x - x, p.y - y)]
            }
            Mode::Pinch => self.pinch(p),
            _ => Vec::new(),
        }
    }

    fn pinch(&mut self, p: Pointer) -> Vec<Act> {
        let Some(before) = self.spread() else {
            return Vec::new();
        };
        let Some(finger) = self.fingers.iter_mut().find(|finger| finger.0 == p.id) else {
            return Vec::new();
        };
        (finger.1, finger.2) = (p.x, p.y);
        let Some(after) = self.spread() else {
            return Vec::new();
        };
        let (dx, dy) = (after.0 - before.0, after.1 - before.1);
        vec![
            Act::Pan(dx, dy),
            Act::Zoom(after.0, after.1, after.2 / before.2),
        ]
    }

    /// Middle of the first two fingers and the distance between them.
    fn spread(&self) -> Option<(f64, f64, f64)> {
        let [a, b, ..] = self.fingers.as_slice() else {
            return None;
        };
        let apart = (a.1 - b.1).hypot(a.2 - b.2).max(1.0);
        Some((f64::midpoint(a.1, b.1), f64::midpoint(a.2, b.2), apart))
    }

    /// A pointer goes up.
    pub fn release(&mut self, p: Pointer) -> Vec<Act> {
        self.lift(p);
        match self.mode {
            Mode::Tool(id) if id == p.id => {
                self.mode = Mode::Idle;
                vec![Act::Tool(Phase::Release, p.x, p.y)]
            }
            Mode::Undecided(id, x, y) if id == p.id => {
                self.mode = Mode::Idle;
                vec![
                    Act::Tool(Phase::Press, x, y),
                    Act::Tool(Phase::Release, x, y),
                ]
            }
            Mode::Pan(id, ..) | Mode::Held(id) if id == p.id => {
                self.mode = Mode::Idle;
                Vec::new()
            }
            Mode::Pinch if self.fingers.is_empty() => {
                self.mode = Mode::Idle;
                Vec::new()
            }
            _ => Vec::new(),
        }
    }

    /// True while two fingers are down.
    pub fn is_pinching(&self) -> bool {
        self.mode == Mode::Pinch && self.fingers.len() >= 2
    }

    /// The browser takes a pointer away.
    pub fn cancel(&mut self, p: Pointer) -> Vec<Act> {
        self.lift(p);
        let mine = match self.mode {
            Mode::Tool(id) | Mode::Undecided(id, ..) | Mode::Pan(id, ..) | Mode::Held(id) => {
                id == p.id
            }
            Mode::Pinch => self.fingers.is_empty(),
            Mode::Idle => false,
        };
        if !mine {
            return Vec::new();
        }
        let dropped = matches!(self.mode, Mode::Tool(_));
        self.mode = Mode::Idle;
        if dropped { vec![Act::Drop] } else { Vec::new() }
    }

    fn lift(&mut self, p: Pointer) {
        self.fingers.retain(|finger| finger.0 != p.id);
        if p.kind == Kind::Pen {
            self.pen_down = false;
            self.pen_ms = Some(p.ms);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn p(id: i32, kind: Kind, x: f64, y: f64) -> Pointer {
        Pointer {
            id,
            kind,
            x,
            y,
            ms: 0.0,
        }
    }

    /// The pen draws a stroke and goes away.
    fn pen_stroke(g: &mut Gestures) {
        g.press(p(1, Kind::Pen, 10.0, 10.0), false);
        g.release(p(1, Kind::Pen, 10.0, 10.0));
    }

    fn later(ms: f64, pointer: Pointer) -> Pointer {
        Pointer { ms, ..pointer }
    }

    #[test]
    fn one_finger_on_paper_drags_the_sheet_and_on_a_device_works_the_tool() {
        let mut g = Gestures::default();
        assert_eq!(g.press(p(1, Kind::Touch, 10.0, 10.0), false), []);
        assert_eq!(
            g.moved(p(1, Kind::Touch, 40.0, 10.0)),
            [Act::Pan(30.0, 0.0)]
        );
        assert_eq!(g.moved(p(1, Kind::Touch, 41.0, 12.0)), [Act::Pan(1.0, 2.0)]);
        assert_eq!(g.release(p(1, Kind::Touch, 41.0, 12.0)), []);
        let press = g.press(p(2, Kind::Touch, 5.0, 5.0), true);
        assert_eq!(press, [Act::Tool(Phase::Press, 5.0, 5.0)]);
    }

    #[test]
    fn a_tap_on_paper_reaches_the_tool() {
        let mut g = Gestures::default();
        g.press(p(1, Kind::Touch, 10.0, 10.0), false);
        g.moved(p(1, Kind::Touch, 12.0, 11.0));
        assert_eq!(
            g.release(p(1, Kind::Touch, 12.0, 11.0)),
            [
                Act::Tool(Phase::Press, 10.0, 10.0),
                Act::Tool(Phase::Release, 10.0, 10.0)
            ]
        );
    }

    #[test]
    fn a_second_finger_drops_the_tool_and_zooms_about_the_middle() {
        let mut g = Gestures::default();
        g.press(p(1, Kind::Touch, 100.0, 100.0), true);
        assert_eq!(g.press(p(2, Kind::Touch, 200.0, 100.0), true), [Act::Drop]);
        assert_eq!(
            g.moved(p(2, Kind::Touch, 300.0, 100.0)),
            [Act::Pan(50.0, 0.0), Act::Zoom(200.0, 100.0, 2.0)]
        );
        // The finger that stays does not suddenly draw.
        g.release(p(2, Kind::Touch, 300.0, 100.0));
        assert_eq!(g.moved(p(1, Kind::Touch, 0.0, 0.0)), []);
        assert_eq!(g.release(p(1, Kind::Touch, 0.0, 0.0)), []);
        assert_eq!(g.press(p(3, Kind::Touch, 1.0, 1.0), true).len(), 1);
    }

    #[test]
    fn fingers_that_tap_together_do_nothing() {
        for several in 2..=3 {
            let mut g = Gestures::default();
            for id in 1..=several {
                let down = p(id, Kind::Touch, 50.0 * f64::from(id), 10.0);
                assert_eq!(g.press(down, false), []);
            }
            for id in 1..=several {
                let up = p(id, Kind::Touch, 50.0 * f64::from(id), 10.0);
                assert_eq!(g.release(up), [], "{several} fingers");
            }
        }
    }

    #[test]
    fn the_palm_does_nothing_while_the_pen_draws() {
        let mut g = Gestures::default();
        g.press(p(7, Kind::Touch, 300.0, 300.0), true);
        // The hand came down before the pen: what it began is dropped.
        assert_eq!(
            g.press(p(1, Kind::Pen, 10.0, 10.0), false),
            [Act::Drop, Act::Tool(Phase::Press, 10.0, 10.0)]
        );
        assert_eq!(g.press(p(8, Kind::Touch, 310.0, 300.0), true), []);
        assert_eq!(g.moved(p(7, Kind::Touch, 320.0, 300.0)), []);
        assert_eq!(g.release(p(8, Kind::Touch, 310.0, 300.0)), []);
        let moved = g.moved(p(1, Kind::Pen, 20.0, 10.0));
        assert_eq!(moved, [Act::Tool(Phase::Move, 20.0, 10.0)]);
        assert_eq!(g.release(p(1, Kind::Pen, 20.0, 10.0)).len(), 1);
    }

    #[test]
    fn while_a_pen_is_in_use_one_finger_drags_the_sheet_and_taps() {
        let mut g = Gestures::default();
        pen_stroke(&mut g);
        let down = later(1_000.0, p(2, Kind::Touch, 10.0, 10.0));
        assert_eq!(g.press(down, true), []);
        assert_eq!(
            g.moved(p(2, Kind::Touch, 30.0, 10.0)),
            [Act::Pan(20.0, 0.0)]
        );
        g.release(p(2, Kind::Touch, 30.0, 10.0));
        g.press(down, true);
        let tapped = g.release(p(2, Kind::Touch, 10.0, 10.0));
        assert_eq!(tapped[0], Act::Tool(Phase::Press, 10.0, 10.0));
    }

    #[test]
    fn a_pen_that_is_put_down_gives_the_tool_back_to_the_finger() {
        let mut g = Gestures::default();
        assert_eq!(g.pen_left_ms(0.0), None, "no pen was seen");
        pen_stroke(&mut g);
        assert_eq!(g.pen_left_ms(10_000.0), Some(20_000.0));
        // A pen that hovers is in use.
        g.moved(later(20_000.0, p(1, Kind::Pen, 15.0, 10.0)));
        assert_eq!(g.pen_left_ms(40_000.0), Some(10_000.0));
        assert_eq!(g.pen_left_ms(20_000.0 + PEN_REST_MS), None);
        let down = later(20_000.0 + PEN_REST_MS, p(2, Kind::Touch, 10.0, 10.0));
        assert_eq!(g.press(down, true), [Act::Tool(Phase::Press, 10.0, 10.0)]);
    }

    #[test]
    fn fingers_draw_beside_a_pen_if_the_person_wants_that() {
        let mut g = Gestures::default();
        g.let_fingers_draw(true);
        pen_stroke(&mut g);
        let down = later(1.0, p(2, Kind::Touch, 10.0, 10.0));
        assert_eq!(g.press(down, true), [Act::Tool(Phase::Press, 10.0, 10.0)]);
        g.release(down);
        // The palm still does nothing while the pen draws.
        g.press(p(1, Kind::Pen, 10.0, 10.0), false);
        assert_eq!(g.press(p(3, Kind::Touch, 90.0, 90.0), true), []);
    }

    #[test]
    fn a_finger_held_still_drops_what_it_began_and_is_done() {
        let mut g = Gestures::default();
        g.press(p(1, Kind::Touch, 10.0, 10.0), true);
        assert_eq!(g.hold(), Some(vec![Act::Drop]));
        assert_eq!(g.moved(p(1, Kind::Touch, 90.0, 10.0)), []);
        assert_eq!(g.release(p(1, Kind::Touch, 90.0, 10.0)), []);
        // On paper it would have become a tap.
        g.press(p(2, Kind::Touch, 10.0, 10.0), false);
        assert_eq!(g.hold(), Some(Vec::new()));
        assert_eq!(g.release(p(2, Kind::Touch, 10.0, 10.0)), []);
        // A finger that moves the sheet, and two of them, are not held.
        g.press(p(3, Kind::Touch, 10.0, 10.0), false);
        g.moved(p(3, Kind::Touch, 40.0, 10.0));
        assert_eq!(g.hold(), None);
        g.press(p(4, Kind::Touch, 90.0, 10.0), false);
        assert_eq!(g.hold(), None);
    }

    #[test]
    fn another_mouse_button_drags_the_sheet() {
        let mut g = Gestures::default();
        assert_eq!(g.press(p(1, Kind::MouseOther, 0.0, 0.0), true), []);
        assert_eq!(
            g.moved(p(1, Kind::MouseOther, 5.0, 5.0)),
            [Act::Pan(5.0, 5.0)]
        );
    }

    #[test]
    fn a_pointer_taken_away_drops_what_was_begun() {
        let mut g = Gestures::default();
        g.press(p(1, Kind::Mouse, 0.0, 0.0), true);
        assert_eq!(g.cancel(p(1, Kind::Mouse, 0.0, 0.0)), [Act::Drop]);
        assert_eq!(g.release(p(1, Kind::Mouse, 0.0, 0.0)), []);
    }
}
