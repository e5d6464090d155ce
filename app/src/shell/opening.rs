//! Opening and saving: the last project, samples, files.

use leptos::{prelude::*, task::spawn_local};
use loomwright_core::document::Document;

use super::Over;
use crate::{
    file,
    platform::{download, fetch, pick},
    session::Session,
    storage, strings,
};

/// Opens the project that was open last, or the sample if there is none.
pub fn open_last(session: Session) {
    spawn_local(async move {
        let deep = storage::deep_index().await;
        session
            .index
            .update(|index| *index = index.clone().with(deep));
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

/// Hands the project to the person as a file.
pub fn save_file(session: Session) {
    let title = session.peek(|document| document.project.title.clone());
    let name = download::file_name(&title, "json");
    download::download(&name, "application/json", &session.bytes());
}
