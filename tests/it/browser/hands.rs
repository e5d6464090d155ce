//! A mouse, fingers and a pen at a page, as each driver knows them.

use serde_json::{Value, json};

use super::driver::Session;
use super::engine::Hands;
use super::page::At;

/// What a pointer does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Does {
    /// It goes down.
    Press,
    /// It moves, down.
    Drag,
    /// It moves, up.
    Hover,
    /// It goes up.
    Release,
}

/// Fingers go down, move or go up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fingers {
    /// They go down.
    Press,
    /// They move.
    Move,
    /// They go up, where they are.
    Release,
}

impl Session {
    /// The mouse does something at a place.
    pub async fn mouse(&self, does: Does, at: At) {
        match self.engine.hands() {
            Hands::Protocol => self.by_protocol("mouse", does, at).await,
            Hands::Actions { .. } => self.act([("mouse", "mouse", does, at)]).await,
        }
    }

    /// A pen does something at a place.
    pub async fn pen(&self, does: Does, at: At) {
        match self.engine.hands() {
            Hands::Protocol => self.by_protocol("pen", does, at).await,
            Hands::Actions { pen: true, .. } => self.act([("pen", "pen", does, at)]).await,
            Hands::Actions { .. } => self.by_script("pen", 101, does, at).await,
        }
    }

    /// Fingers do something together; those that go up do it at `fingers` as well.
    pub async fn fingers(&self, do_what: Fingers, fingers: &[At]) {
        let does = match do_what {
            Fingers::Press => Does::Press,
            Fingers::Move => Does::Drag,
            Fingers::Release => Does::Release,
        };
        match self.engine.hands() {
            Hands::Protocol => self.touch_by_protocol(do_what, fingers).await,
            Hands::Actions { touch: true, .. } => {
                const NAMES: [&str; 3] = ["finger 1", "finger 2", "finger 3"];
                let all = NAMES.into_iter().zip(fingers);
                self.act(all.map(|(name, at)| (name, "touch", does, *at)))
                    .await;
            }
            Hands::Actions { .. } => {
                for (id, at) in fingers.iter().enumerate() {
                    self.by_script("touch", 201 + id, does, *at).await;
                }
            }
        }
    }

    async fn by_protocol(&self, pointer: &str, does: Does, at: At) {
        let (kind, button, buttons, clicks) = match does {
            Does::Press => ("mousePressed", "left", 1, 1),
            Does::Drag => ("mouseMoved", "left", 1, 0),
            Does::Hover => ("mouseMoved", "none", 0, 0),
            Does::Release => ("mouseReleased", "left", 0, 1),
        };
        let event = json!({
            "type": kind, "x": at.x, "y": at.y, "button": button, "buttons": buttons,
            "clickCount": clicks, "pointerType": pointer,
        });
        self.devtools("Input.dispatchMouseEvent", event).await;
    }

    async fn touch_by_protocol(&self, do_what: Fingers, fingers: &[At]) {
        let (kind, fingers) = match do_what {
            Fingers::Press => ("touchStart", fingers),
            Fingers::Move => ("touchMove", fingers),
            Fingers::Release => ("touchEnd", &[][..]),
        };
        let points: Vec<Value> = fingers
            .iter()
            .enumerate()
            .map(|(id, at)| json!({ "id": id, "x": at.x, "y": at.y }))
            .collect();
        let event = json!({ "type": kind, "touchPoints": points });
        self.devtools("Input.dispatchTouchEvent", event).await;
    }

    /// Pointers, each with a name and a type, do something at once.
    async fn act<'a>(&self, pointers: impl IntoIterator<Item = (&'a str, &'a str, Does, At)>) {
        let one = |(name, kind, does, at): (&str, &str, Does, At)| {
            let go = json!({
                "type": "pointerMove", "duration": 0,
                // The protocol has whole pixels; rounded here, since drivers differ in it.
                "x": at.x.round(), "y": at.y.round(),
            });
            let steps = match does {
                Does::Press => vec![go, json!({ "type": "pointerDown", "button": 0 })],
                Does::Drag | Does::Hover => vec![go],
                Does::Release => vec![go, json!({ "type": "pointerUp", "button": 0 })],
            };
            json!({
                "type": "pointer", "id": name, "parameters": { "pointerType": kind },
                "actions": steps,
            })
        };
        let all: Vec<Value> = pointers.into_iter().map(one).collect();
        let done = self.command("actions", json!({ "actions": all })).await;
        done.unwrap_or_else(|error| panic!("the pointer cannot: {error}"));
    }

    /// Dispatches the events of a pointer that the driver does not know, as the engine itself would: those of a
    /// pointer that is down go to where it went down, and a finger that taps also clicks.
    async fn by_script(&self, kind: &str, id: usize, does: Does, at: At) {
        const SCRIPT: &str = "
            const [kind, id, does, x, y] = arguments;
            const all = window.journeyPointers ??= new Map();
            const under = document.elementFromPoint(x, y) ?? document.documentElement;
            const down = all.get(id);
            const target = down?.target?.isConnected ? down.target : under;
            const send = (type, buttons, on) => on.dispatchEvent(new PointerEvent(type, {
                bubbles: true, cancelable: true, composed: true, view: window, isPrimary: id % 100 === 1,
                pointerId: id, pointerType: kind, clientX: x, clientY: y, screenX: x, screenY: y,
                button: type === 'pointermove' ? -1 : 0, buttons, pressure: buttons ? 0.5 : 0,
            }));
            if (does === 'Press') {
                all.set(id, { target: under, x, y });
                send('pointerdown', 1, under);
            } else if (does === 'Release') {
                send('pointerup', 0, target);
                all.delete(id);
                if (down && target === under && Math.hypot(x - down.x, y - down.y) < 8) {
                    target.closest('button, summary, label, a')?.focus?.();
                    target.dispatchEvent(new MouseEvent('click', { bubbles: true, cancelable: true, view: window, clientX: x, clientY: y, detail: 1 }));
                }
            } else {
                send('pointermove', does === 'Drag' ? 1 : 0, target);
            }";
        let words = vec![
            json!(kind),
            json!(id),
            json!(format!("{does:?}")),
            json!(at.x),
            json!(at.y),
        ];
        let done = self.client.execute(SCRIPT, words).await;
        done.unwrap_or_else(|error| panic!("the {kind} cannot: {error}"));
    }
}
