//! What is on paper: a page printed, and where each word of it is.

use std::path::Path;
use std::process::{Command, Stdio};

use loomwright_tests::{engines, top};

use super::driver::Session;
use super::engine::webkit;
use super::steps::PRINT_ALL;

/// Prints every sheet of the first sample with a program of the same engine, on paper of this width and height, in.
pub fn by_program(session: &Session, url: &str, (wide, high): (f64, f64)) -> Vec<u8> {
    let python = engines::webkit_python().unwrap_or_else(|missing| panic!("{missing}"));
    let file = session.folder().join("program.pdf");
    let _ = std::fs::remove_file(&file);
    let (mut screen, display) = webkit::screen();
    let ran = Command::new(python)
        .arg(top().join("tests/it/browser/engine/print_webkit.py"))
        .args([&format!("{url}?prints"), PRINT_ALL])
        .arg(&file)
        .args([wide.to_string(), high.to_string()])
        .env("DISPLAY", display)
        .env_remove("WAYLAND_DISPLAY")
        .stdin(Stdio::null())
        .output();
    screen.end();
    let output = ran.expect("Python starts");
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{said}");
    std::fs::read(&file).unwrap_or_else(|error| panic!("{}: {error}: {said}", file.display()))
}

/// One page of a PDF.
#[derive(Debug, Default)]
pub struct Printed {
    /// Its width and height, points.
    pub size: (f64, f64),
    /// Its words, each with left, top, right and bottom, points.
    pub words: Vec<(String, [f64; 4])>,
}

impl Printed {
    /// The letters on it, without what stands between words.
    pub fn letters(&self) -> usize {
        let words = self.words.iter();
        words.map(|(word, _)| word.chars().count()).sum()
    }

    /// The words that go over an edge.
    pub fn cut(&self) -> Vec<&str> {
        let (wide, high) = self.size;
        let is_out = |[left, top, right, bottom]: &[f64; 4]| {
            *left < -1.0 || *top < -1.0 || *right > wide + 1.0 || *bottom > high + 1.0
        };
        let out = self.words.iter().filter(|(_, place)| is_out(place));
        out.map(|(word, _)| word.as_str()).collect()
    }
}

/// The pages of a PDF.
pub fn pages(pdf: &Path) -> Vec<Printed> {
    let reader = engines::pdf_reader().unwrap_or_else(|missing| panic!("{missing}"));
    let output = Command::new(reader).arg("-bbox").arg(pdf).arg("-").output();
    let output = output.expect("the reader of PDF files starts");
    let mut pages: Vec<Printed> = Vec::new();
    for line in String::from_utf8_lossy(&output.stdout).lines() {
        let number = |name: &str| -> f64 {
            let value = line.split_once(&format!(" {name}=\"")).map(|it| it.1);
            let value = value.and_then(|it| it.split('"').next());
            value.and_then(|it| it.parse().ok()).unwrap_or_default()
        };
        let line_is = |tag: &str| line.trim_start().starts_with(tag);
        if line_is("<page ") {
            pages.push(Printed {
                size: (number("width"), number("height")),
                words: Vec::new(),
            });
        } else if let (true, Some(page)) = (line_is("<word "), pages.last_mut()) {
            let text = line.split_once('>').map_or("", |it| it.1);
            let text = text.split("</word>").next().unwrap_or_default();
            let place = ["xMin", "yMin", "xMax", "yMax"].map(number);
            page.words.push((unescaped(text), place));
        }
    }
    pages
}

fn unescaped(text: &str) -> String {
    let signs = [
        ("&lt;", "<"),
        ("&gt;", ">"),
        ("&quot;", "\""),
        ("&amp;", "&"),
    ];
    signs
        .into_iter()
        .fold(text.to_owned(), |text, (from, to)| text.replace(from, to))
}
