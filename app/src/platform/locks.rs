//! One window at a time (Web Locks): a lock goes with the window that holds it, however that ends.

use std::{cell::Cell, rc::Rc};

use js_sys::{Function, Object, Promise, Reflect};
use wasm_bindgen::{JsCast, JsValue, closure::Closure, prelude::wasm_bindgen};
use wasm_bindgen_futures::{JsFuture, spawn_local};

#[wasm_bindgen]
extern "C" {
    // `web-sys` has it only as something that may still change.
    #[wasm_bindgen(catch, js_namespace = ["navigator", "locks"], js_name = request)]
    fn request(name: &str, options: &Object, given: &Function) -> Result<Promise, JsValue>;
}

/// A lock that is held until it is dropped.
#[derive(Debug)]
pub struct Held(Function);

impl Drop for Held {
    fn drop(&mut self) {
        // Ends the promise for which the browser holds the lock; that cannot fail.
        let _ = self.0.call0(&JsValue::UNDEFINED);
    }
}

/// How to ask for a lock.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ask {
    /// Now or not at all.
    Now,
    /// When whoever has it lets go.
    InTurn,
    /// Now, from whoever has it and does not answer.
    Anyway,
}

/// What came of asking.
#[derive(Debug)]
pub enum Answer {
    /// It is ours.
    Held(Held),
    /// Another window has it.
    Taken,
    /// This browser has no locks, or gives none to a window without storage.
    NoLocks,
}

/// Asks for a lock. `lost` is called if another window takes it from us.
pub async fn hold(name: &str, ask: Ask, lost: impl FnOnce() + 'static) -> Answer {
    let mut release = None;
    let held = Promise::new(&mut |resolve, _| release = Some(resolve));
    let Some(release) = release else {
        return Answer::NoLocks;
    };
    let options = Object::new();
    let flag = match ask {
        Ask::Now => Some("ifAvailable"),
        Ask::InTurn => None,
        Ask::Anyway => Some("steal"),
    };
    if let Some(flag) = flag {
        // Setting a field of our own object cannot fail.
        let _ = Reflect::set(&options, &flag.into(), &JsValue::TRUE);
    }
    let mut lost = Some(lost);
    // Resolved with true if it is ours, false if another window has it, nothing if the browser refuses.
    let given = Promise::new(&mut |resolve, _| {
        let tell = move |what: &JsValue| {
            // Resolving a promise cannot fail; a second time it does nothing.
            let _ = resolve.call1(&JsValue::UNDEFINED, what);
        };
        let is_ours = Rc::new(Cell::new(false));
        let (held, answer, got) = (held.clone(), tell.clone(), is_ours.clone());
        let callback = Closure::once_into_js(move |lock: JsValue| -> JsValue {
            got.set(!lock.is_null());
            answer(&JsValue::from_bool(got.get()));
            if got.get() {
                held.into()
            } else {
                JsValue::UNDEFINED
            }
        });
        let asked = request(name, &options, callback.unchecked_ref());
        let (Ok(ended), Some(lost)) = (asked, lost.take()) else {
            tell(&JsValue::UNDEFINED);
            return;
        };
        spawn_local(async move {
            // It ends well when we let go; badly when another window takes it, or storage is refused.
            if JsFuture::from(ended).await.is_err() {
                tell(&JsValue::UNDEFINED);
                if is_ours.get() {
                    lost();
                }
            }
        });
    });
    match JsFuture::from(given).await.map(|it| it.as_bool()) {
        Ok(Some(true)) => Answer::Held(Held(release)),
        Ok(Some(false)) => Answer::Taken,
        _ => Answer::NoLocks,
    }
}
