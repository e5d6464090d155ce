//! Projects in the browser's database, and what they were before.

use std::{cell::RefCell, collections::BTreeMap};

use leptos::task::spawn_local;
use loomwright_core::{
    document::read::read_text,
    exchange::{json, packed},
};

use super::{
    earlier::{self, State},
    index::Index,
    slots::SavedText,
};
use crate::platform::{
    clock,
    database::{self, Database, EARLIER, PROJECTS, Refused},
};

/// The key of the list of projects; a project's is made of digits.
const INDEX: &str = "index";

#[derive(Default)]
struct Deep {
    database: Option<Database>,
    /// What is to be written next, by project: the last one is enough.
    waiting: BTreeMap<String, (u64, String)>,
    is_busy: bool,
}

thread_local! {
    static DEEP: RefCell<Deep> = RefCell::default();
}

/// An earlier state to which a person can go back.
#[derive(Clone, Debug, PartialEq)]
pub struct Earlier {
    key: String,
    /// Which, when and how large.
    pub state: State,
}

async fn database() -> Option<Database> {
    if let Some(open) = DEEP.with_borrow(|deep| deep.database.clone()) {
        return Some(open);
    }
    let opened = database::open().await?;
    DEEP.with_borrow_mut(|deep| deep.database = Some(opened.clone()));
    Some(opened)
}

/// A refusal may mean that the browser closed the database, so the next access opens it again.
fn heard<T>(answer: Result<T, Refused>) -> Option<T> {
    if answer.is_err() {
        DEEP.with_borrow_mut(|deep| deep.database = None);
    }
    answer.ok()
}

/// The newest text of a project here.
pub(super) async fn load(id: &str) -> Option<SavedText> {
    let found = database().await?.get(PROJECTS, id).await;
    SavedText::read(&heard(found)??)
}

/// Writes a project as soon as what is being written is on the disk.
/// `kept` gets the project, the turn, and whether it is on the disk.
pub fn save(id: &str, turn: u64, framed: String, kept: impl Fn(&str, u64, bool) + 'static) {
    let is_busy = DEEP.with_borrow_mut(|deep| {
        deep.waiting.insert(id.to_owned(), (turn, framed));
        std::mem::replace(&mut deep.is_busy, true)
    });
    if !is_busy {
        spawn_local(drain(kept));
    }
}

async fn drain(kept: impl Fn(&str, u64, bool)) {
    let next = || {
        DEEP.with_borrow_mut(|deep| {
            let next = deep.waiting.pop_first();
            deep.is_busy = next.is_some();
            next
        })
    };
    while let Some((id, (turn, framed))) = next() {
        kept(&id, turn, put(PROJECTS, &id, &framed).await);
    }
}

/// Keeps the list of projects, for a browser that has nothing but its database.
pub fn keep_index(index: &Index) {
    let text = json(index);
    spawn_local(async move {
        // The next one keeps it, if this one does not.
        put(PROJECTS, INDEX, &text).await;
    });
}

/// The list of projects as it is here.
pub async fn index() -> Index {
    let found = async {
        let open = database().await?;
        let text = heard(open.get(PROJECTS, INDEX).await)??;
        read_text(&text)
    };
    found.await.unwrap_or_default()
}

/// Writes a text; if that fails, once more with the database opened again.
async fn put(store: &str, key: &str, text: &str) -> bool {
    for _ in 0..2 {
        let Some(open) = database().await else {
            return false;
        };
        let answer = open.put(store, key, text).await;
        if heard(answer).is_some() {
            return true;
        }
    }
    false
}

/// Keeps a copy of a project as it is now, to go back to, and removes copies that are too close together.
pub fn keep_earlier(id: &str, turn: u64, text: &str) {
    let (id, packed) = (id.to_owned(), packed::pack(text));
    spawn_local(async move {
        let now_ms = clock::now_ms();
        let key = key(&id, turn, now_ms, packed.len());
        // A full disk keeps what it has; whether the project itself was saved is reported separately.
        put(EARLIER, &key, &packed).await;
        let all = earlier_of(&id).await;
        let states: Vec<State> = all.iter().map(|it| it.state).collect();
        let go = earlier::to_go(&states, now_ms, earlier::ROOM_BYTES);
        for old in all.iter().filter(|it| go.contains(&it.state.turn)) {
            let Some(open) = database().await else { return };
            heard(open.delete(EARLIER, &old.key).await);
        }
    });
}

/// Everything but the text is in the key, so that looking through them reads no texts.
fn key(id: &str, turn: u64, time_ms: f64, bytes: usize) -> String {
    format!("{id}/{turn:012}/{time_ms:.0}/{bytes}")
}

fn of_key(key: &str) -> Option<Earlier> {
    let mut parts = key.split('/').skip(1);
    let state = State {
        turn: parts.next()?.parse().ok()?,
        time_ms: parts.next()?.parse().ok()?,
        bytes: parts.next()?.parse().ok()?,
    };
    Some(Earlier {
        key: key.to_owned(),
        state,
    })
}

/// How the keys of a project begin.
fn of(id: &str) -> String {
    format!("{id}/")
}

/// What a project was before, newest first.
pub async fn earlier_of(id: &str) -> Vec<Earlier> {
    let found = async {
        let open = database().await?;
        heard(open.keys(EARLIER, &of(id)).await)
    };
    let keys = found.await.unwrap_or_default();
    let mut all: Vec<Earlier> = keys.iter().filter_map(|key| of_key(key)).collect();
    all.reverse();
    all
}

/// The text of an earlier state.
pub async fn earlier_text(earlier: &Earlier) -> Option<String> {
    let open = database().await?;
    let found = heard(open.get(EARLIER, &earlier.key).await)??;
    packed::unpack(&found).ok()
}

/// Forgets a project and all that it was.
pub(super) fn forget(id: &str) {
    let id = id.to_owned();
    spawn_local(async move {
        let Some(open) = database().await else { return };
        heard(open.delete(PROJECTS, &id).await);
        heard(open.delete_all(EARLIER, &of(&id)).await);
    });
}
