//! Reads and writes project files, and prints answers.

use std::{
    fs,
    io::{self, Write as _},
    path::Path,
};

use loomwright_core::{
    document::{Document, limits::MAX_BYTES},
    exchange,
};

/// Printed under every answer that someone may build from.
pub const NOTICE: &str = "This is an aid. Local regulation, the maker's manual and a licensed person's judgment come first.\n";

/// Opens a project to look at it.
pub fn open(file: &Path) -> Result<Document, String> {
    let opened = opened(file)?;
    if opened.is_newer() {
        eprintln!(
            "{}: written by a newer Loomwright (file format {}). What this one does not know is neither shown nor \
             checked",
            file.display(),
            opened.version
        );
    }
    Ok(opened.document)
}

/// Opens a project of which something is to be written.
///
/// # Errors
/// As [`open`], and for a file that a newer program wrote.
pub fn open_to_write(file: &Path) -> Result<Document, String> {
    let opened = opened(file)?;
    match opened.is_newer() {
        false => Ok(opened.document),
        true => Err(format!(
            "{}: written by a newer Loomwright (file format {}). This one would lose what it does not know. Use \
             a newer one",
            file.display(),
            opened.version
        )),
    }
}

fn opened(file: &Path) -> Result<exchange::Opened, String> {
    exchange::open(&read(file)?).map_err(|e| format!("{}: {e}", file.display()))
}

pub fn read(file: &Path) -> Result<Vec<u8>, String> {
    let name = file.display();
    let size = fs::metadata(file)
        .map_err(|e| format!("{name}: {e}"))?
        .len();
    if size > MAX_BYTES as u64 {
        return Err(format!(
            "{name}: the file has {size} bytes, expected at most {MAX_BYTES}"
        ));
    }
    fs::read(file).map_err(|e| format!("{name}: {e}"))
}

pub fn write(file: Option<&Path>, bytes: &[u8]) -> Result<(), String> {
    let Some(file) = file else {
        return print(&String::from_utf8_lossy(bytes));
    };
    // Write a second file, then rename it: a full disk leaves the old file undamaged.
    let mut beside = file.as_os_str().to_owned();
    beside.push(".new");
    fs::write(&beside, bytes)
        .and_then(|()| fs::rename(&beside, file))
        .map_err(|e| format!("{}: {e}", file.display()))
}

/// Prints a text. A reader that stops early, such as `head`, is not an error.
pub fn print(text: &str) -> Result<(), String> {
    match io::stdout().lock().write_all(text.as_bytes()) {
        Err(e) if e.kind() != io::ErrorKind::BrokenPipe => Err(format!("cannot print: {e}")),
        _ => Ok(()),
    }
}

/// As JSON, with a line feed at the end.
pub fn json(value: &impl serde::Serialize) -> String {
    let text = serde_json::to_string_pretty(value);
    text.expect("texts and numbers always fit into JSON") + "\n"
}
