//! `localStorage`.

use gloo_storage::{LocalStorage, Storage};

use super::{Store, StoreError};

/// The browser's `localStorage`.
#[derive(Clone, Copy, Debug, Default)]
pub struct Browser;

impl Store for Browser {
    fn get(&self, name: &str) -> Option<String> {
        LocalStorage::raw().get_item(name).ok().flatten()
    }

    fn set(&self, name: &str, text: &str) -> Result<(), StoreError> {
        LocalStorage::raw()
            .set_item(name, text)
            .map_err(|_| StoreError::Full)
    }

    fn remove(&self, name: &str) {
        LocalStorage::delete(name);
    }
}
