//! Opening and saving: the last project, samples, files.

use leptos::{prelude::*, task::spawn_local};
use loomwright_core::{document::Document, exchange::packed};

use super::over::Over;
use crate::{
    platform::{download, fetch, page, pick, share},
    session::{Session, file},
    storage, strings,
};

/// Opens the project that was open last, or the sample if there is none.
pub fn open_last(session: Session) {
    spawn_local(async move {
        let deep = storage::deep_index().await;
        session
            .index
            .update(|index| *index = index.clone().with(deep));
        let linked = linked();
        if linked.is_some() {
            page::drop_hash();
        }
        if let Some(Ok(opened)) = linked {
            session.open_file(opened);
            return;
        }
        let last = session.index.with_untracked(|index| {
            index
                .open
                .clone()
                .or_else(|| index.projects.last().map(|entry| entry.id.clone()))
        });
        let Some(id) = last else {
            open_sample(session, "sorrel");
            return;
        };
        if let Err(why) = session.open_kept(id).await {
            session.show_unkept(Document::default());
            session.say(why);
        }
        if let Some(Err(why)) = linked {
            session.say(format!("{}: {why}", strings::LINK_DAMAGED));
        }
    });
}

/// Opens one of the samples as a project of its own.
pub fn open_sample(session: Session, name: &'static str) {
    spawn_local(async move {
        let read = fetch::bytes(&format!("samples/{name}.json")).await;
        match read.and_then(|bytes| file::open(&bytes)) {
            Ok(opened) => session.open_file(opened),
            Err(why) => {
                session.show_unkept(Document::default());
                session.say(format!("{}: {why}", strings::SAMPLE_MISSING));
            }
        }
    });
}

/// Opens a file the person picked or dropped; a refused one leaves everything as it is.
pub fn open_file(session: Session, over: RwSignal<Over>, file: pick::File) {
    spawn_local(async move {
        let Some(picked) = pick::read(file, file::BYTES_MAX).await else {
            over.set(Over::Refused(strings::FILE_TOO_LARGE.into()));
            return;
        };
        match file::open(&picked.bytes) {
            Ok(opened) => {
                session.open_file(opened);
                over.set(Over::Nothing);
            }
            Err(why) => over.set(Over::Refused(format!("{}: {why}", picked.name))),
        }
    });
}

/// What a link to a project begins with, behind `#`.
const LINK: &str = "p=";
/// A longer link is cut by what people send links with (common practice, no source).
const LINK_MAX: usize = 16_000;

/// Puts a link that holds the whole project on the clipboard, or says that it is too large for one.
pub fn copy_link(session: Session) {
    let text = String::from_utf8(session.bytes()).unwrap_or_default();
    let link = format!("{}#{LINK}{}", share::address(), packed::pack(&text));
    if link.len() > LINK_MAX {
        session.say(strings::LINK_TOO_LONG.into());
        return;
    }
    spawn_local(async move {
        let said = match share::copy(&link).await {
            true => strings::LINK_COPIED,
            false => strings::NO_CLIPBOARD,
        };
        session.say(said.into());
    });
}

/// The project in the page's address, if there is one.
fn linked() -> Option<Result<file::Opened, String>> {
    let packed = page::hash().strip_prefix(LINK)?.to_owned();
    let text = packed::unpack(&packed).map_err(|why| why.to_string());
    Some(text.and_then(|text| file::open(text.as_bytes())))
}

/// Hands the project to the system's share sheet; where there is none, to the person.
pub fn share_file(session: Session) {
    let name = file_name(session);
    spawn_local(async move {
        if !share::file(&name, "application/json", &session.bytes()).await {
            save_file(session);
        }
    });
}

fn file_name(session: Session) -> String {
    let title = session.peek(|document| document.project.title.clone());
    download::file_name(&title, "json")
}

/// Hands the project to the person as a file.
pub fn save_file(session: Session) {
    download::download(&file_name(session), "application/json", &session.bytes());
}
