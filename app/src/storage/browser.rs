//! `localStorage`.

use gloo_storage::{LocalStorage, Storage};

use super::{Store, StoreError};

/// The browser's `localStorage`, if it gives us one: a private window may not.
#[derive(Clone, Copy, Debug, Default)]
pub struct Browser;

fn is_there() -> bool {
    web_sys::window().is_some_and(|window| matches!(window.local_storage(), Ok(Some(_))))
}

impl Store for Browser {
    fn get(&self, name: &str) -> Option<String> {
        is_there().then(|| LocalStorage::raw().get_item(name).ok().flatten())?
    }

    fn set(&self, name: &str, text: &str) -> Result<(), StoreError> {
        if !is_there() {
            return Err(StoreError::Refused);
        }
        LocalStorage::raw()
            .set_item(name, text)
            .map_err(|_| StoreError::Full)
    }

    fn remove(&self, name: &str) {
        if is_there() {
            LocalStorage::delete(name);
        }
    }
}
