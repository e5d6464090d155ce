//! The part of `tests/measured.md` that these tests write, between two markers.

use std::fs;

use loomwright_tests::top;

/// Holds the text between the markers of this name in `tests/measured.md`; LOOMWRIGHT_WRITE=1 writes it.
pub fn hold(name: &str, text: &str) {
    let path = top().join("tests/measured.md");
    let file = fs::read_to_string(&path).expect("it can be read");
    let [begin, end] = [
        format!("<!-- {name} -->\n"),
        format!("<!-- end of {name} -->\n"),
    ];
    let (before, rest) = file.split_once(&begin).expect("the marker before");
    let (there, after) = rest.split_once(&end).expect("the marker after");
    if std::env::var_os("LOOMWRIGHT_WRITE").is_some() {
        fs::write(&path, format!("{before}{begin}{text}{end}{after}")).expect("it can be written");
        return;
    }
    assert!(
        there == text,
        "measured.md says otherwise; write it with LOOMWRIGHT_WRITE=1"
    );
}
