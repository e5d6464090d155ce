//! Words between the windows of this app in one browser.

use js_sys::Array;
use wasm_bindgen::{JsCast, closure::Closure};
use web_sys::{BroadcastChannel, MessageEvent};

use super::worker::{Words, from_js, to_js};

/// A line to all other windows.
#[derive(Clone, Debug)]
pub struct Channel(BroadcastChannel);

/// Opens the line; none if the browser has none.
pub fn open(mut hear: impl FnMut(Words) + 'static) -> Option<Channel> {
    let line = BroadcastChannel::new("loomwright").ok()?;
    let hear = Closure::<dyn FnMut(MessageEvent)>::new(move |event: MessageEvent| {
        hear(from_js(&event.data()));
    });
    line.set_onmessage(Some(hear.as_ref().unchecked_ref()));
    // The page listens as long as it lives.
    hear.forget();
    Some(Channel(line))
}

impl Channel {
    /// Says something to the other windows.
    pub fn say(&self, words: &Words) {
        let words: Array = to_js(words);
        // A closed line belongs to a page that is going away.
        let _ = self.0.post_message(&words);
    }
}
