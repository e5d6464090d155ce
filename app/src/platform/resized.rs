//! Tells when an element changed its size, without asking for the page's layout before its time.

use wasm_bindgen::{JsCast, closure::Closure};
use web_sys::{Element, ResizeObserver};

/// Watches an element until it is dropped.
pub struct Resized {
    observer: ResizeObserver,
    _told: Closure<dyn FnMut()>,
}

impl Resized {
    /// Calls `told` after each change of the element's size, before it is painted; none in a browser that
    /// cannot watch.
    pub fn watch(element: &Element, told: impl FnMut() + 'static) -> Option<Self> {
        let told = Closure::<dyn FnMut()>::new(told);
        let observer = ResizeObserver::new(told.as_ref().unchecked_ref()).ok()?;
        observer.observe(element);
        Some(Self {
            observer,
            _told: told,
        })
    }
}

impl Drop for Resized {
    fn drop(&mut self) {
        self.observer.disconnect();
    }
}
