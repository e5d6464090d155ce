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
    /// This browser has no locks.
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
    let lost = Rc::new(Cell::new(Some(lost)));
    let mut has_locks = true;
    let given = Promise::new(&mut |resolve, _| {
        let (held, tell) = (held.clone(), resolve.clone());
        let tell = move |got: bool| {
            // Resolving a promise cannot fail; a second time it does nothing.
            let _ = tell.call1(&JsValue::UNDEFINED, &JsValue::from_bool(got));
        };
        let answer = tell.clone();
        let callback = Closure::once_into_js(move |lock: JsValue| -> JsValue {
            let got = !lock.is_null();
            answer(got);
            if got { held.into() } else { JsValue::UNDEFINED }
        });
        let Ok(ended) = request(name, &options, callback.unchecked_ref()) else {
            has_locks = false;
            tell(false);
            return;
        };
        let lost = lost.clone();
        spawn_local(async move {
            // It ends well when we let go, and badly when another window takes it.
            if JsFuture::from(ended).await.is_err() {
                tell(false);
                if let Some(lost) = lost.take() {
                    lost();
                }
            }
        });
    });
    let got = JsFuture::from(given).await.is_ok_and(|it| it.is_truthy());
    match (got, has_locks) {
        (true, _) => Answer::Held(Held(release)),
        (false, true) => Answer::Taken,
        (false, false) => Answer::NoLocks,
    }
}
