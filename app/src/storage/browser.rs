//! `localStorage`.

use gloo_storage::{LocalStorage, Storage};

use super::store::{Store, StoreError};
use crate::platform::page;

/// The browser's `localStorage`, if it gives us one: a private window may not.
#[derive(Clone, Copy, Debug, Default)]
pub struct Browser;

impl Store for Browser {
    fn get(&self, name: &str) -> Option<String> {
        page::has_storage().then(|| LocalStorage::raw().get_item(name).ok().flatten())?
    }

    fn set(&self, name: &str, text: &str) -> Result<(), StoreError> {
        if !page::has_storage() {
            return Err(StoreError::Refused);
        }
        LocalStorage::raw()
            .set_item(name, text)
            .map_err(|_| StoreError::Full)
    }

    fn remove(&self, name: &str) {
        if page::has_storage() {
            LocalStorage::delete(name);
        }
    }
}
