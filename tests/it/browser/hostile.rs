//! A project with markup and scripts in every text: shown, drawn and printed as the text it is.

use std::collections::BTreeSet;

use loomwright_core::{document::Document, drawing, exchange, reports::PAPERS, testing::asked};
use serde_json::Value;

use super::steps::{begin, open_file};
use super::{Page, Screen, journey};

/// Markup that strikes in as many ways as a text can, and begins like a formula.
const NASTY: &str = "=1\"'><img src=x onerror=\"window.struck=1\"><script>window.struck=1</script>\
                     <svg onload=\"window.struck=1\"></style></title></textarea>\u{202e}${window.struck=1}";

/// The sample with [`NASTY`] in every field that takes any text, and the names of those fields.
fn nasty() -> (Document, BTreeSet<String>) {
    let file = loomwright_tests::top().join("public/samples/teasel.json");
    let text = std::fs::read(file).expect("the sample is there");
    let mut tree: Value = serde_json::from_slice(&text).expect("JSON");
    let mut names = BTreeSet::new();
    fields(&tree, &mut names);
    let mut taken = BTreeSet::new();
    for name in names {
        let mut tried = tree.clone();
        strike(&mut tried, &name);
        // A field of which the format says what may stand in it takes no other text.
        if exchange::open(tried.to_string().as_bytes()).is_ok() {
            tree = tried;
            taken.insert(name);
        }
    }
    let opened = exchange::open(tree.to_string().as_bytes()).expect("each was tried");
    (opened.document, taken)
}

/// The names of fields that hold a text anywhere.
fn fields(tree: &Value, names: &mut BTreeSet<String>) {
    match tree {
        Value::Object(all) => {
            for (name, value) in all {
                let texts = |it: &Value| {
                    it.as_array()
                        .is_some_and(|it| it.iter().any(Value::is_string))
                };
                if value.is_string() || texts(value) {
                    names.insert(name.clone());
                }
                fields(value, names);
            }
        }
        Value::Array(all) => all.iter().for_each(|it| fields(it, names)),
        _ => {}
    }
}

fn strike(tree: &mut Value, field: &str) {
    match tree {
        Value::Object(all) => {
            for (name, value) in all {
                if name == field && value.is_string() {
                    *value = NASTY.into();
                } else if name == field && value.is_array() {
                    let texts = value.as_array_mut().into_iter().flatten();
                    texts
                        .filter(|it| it.is_string())
                        .for_each(|it| *it = NASTY.into());
                } else {
                    strike(value, field);
                }
            }
        }
        Value::Array(all) => all.iter_mut().for_each(|it| strike(it, field)),
        _ => {}
    }
}

/// Nothing of it became markup, and nothing of it ran.
async fn is_harmless(page: &Page, place: &str) {
    let found = page
        .eval(
            // A paper as a file has one script of its own in its body, which lays it out on pages.
            "[window.struck ?? null, document.querySelectorAll('img, [onerror], [onload], \
              script:not([src], body.on-paper > script)').length, \
              document.documentElement.textContent.includes('window.struck=1')]",
        )
        .await;
    assert_eq!(found[0], Value::Null, "{place}: it ran");
    assert_eq!(found[1], 0, "{place}: it became markup");
    assert_eq!(found[2], true, "{place}: it is shown as text");
}

#[test]
fn markup_and_scripts_in_every_text_stay_text() {
    let (project, taken) = nasty();
    for name in [
        "title", "tag", "number", "function", "colour", "label", "note", "text", "reason", "who",
    ] {
        assert!(taken.contains(name), "{name} takes any text: {taken:?}");
    }
    journey("hostile", Screen::LAPTOP, async |page| {
        begin(page).await;
        open_file(page, "hostile.json", &exchange::save(&project)).await;
        page.wait_until("it is open", "!document.querySelector('#dialog')", 20)
            .await;
        page.wait_for("#drawing .g-item").await;
        let sheets = page.count(".tabs button b").await;
        for sheet in 1..=sheets {
            page.press(&format!(".tabs button:nth-of-type({sheet})"))
                .await;
            page.wait_for("#drawing .g-item").await;
            is_harmless(page, &format!("sheet {sheet}")).await;
        }
        page.screenshot("sheet").await;
        page.press(".tabs button:nth-of-type(1)").await;
        page.press("#drawing .g-item").await;
        page.wait_for(".panel .pair").await;
        is_harmless(page, "details").await;
        for room in ["Plan", "Check", "Build", "Test", "Log"] {
            page.press_named(".room-tab", room).await;
            is_harmless(page, room).await;
            for at in 1..=page.count(".paper-choice button").await {
                page.press(&format!(".paper-choice button:nth-of-type({at})"))
                    .await;
                page.wait_until("the paper", "!document.querySelector('.page progress')", 60)
                    .await;
                is_harmless(page, &format!("paper {at} of {room}")).await;
            }
            page.pdf(room).await;
            is_harmless(page, &format!("{room} printed")).await;
        }
        page.press(".paper-choice button:nth-of-type(1)").await;
        page.press("details.swap > summary").await;
        page.choose(".swap label:nth-of-type(1) select", "usb2")
            .await;
        page.choose(".swap label:nth-of-type(2) select", "part:usb-port-60")
            .await;
        page.wait_for(".swap .on-paper").await;
        is_harmless(page, "swap").await;
        page.screenshot("swap").await;
        let mut other = project.clone();
        other.wires.retain(|id, _| id.as_str() != "p30a18");
        page.press("details.compare > summary").await;
        page.upload(
            ".compare input[type=file]",
            "other.json",
            &exchange::save(&other),
        )
        .await;
        page.wait_for(".compare .beside svg").await;
        is_harmless(page, "compare").await;
        // What the browser logs of it: nothing.
        assert_eq!(page.take_console_errors().await, [""; 0]);
        let folder = std::env::temp_dir().join("loomwright-hostile");
        std::fs::create_dir_all(&folder).expect("a folder for files");
        let mut files = Vec::new();
        for id in project.sheets.keys() {
            let scene = drawing::scene(&project, id);
            files.push((
                format!("{id}.svg"),
                drawing::svg(&scene, drawing::Theme::Light, None),
            ));
        }
        for (name, _, make) in PAPERS {
            files.push((format!("{name}.html"), make(&asked(&project)).to_html()));
        }
        for (name, content) in files {
            let file = folder.join(&name);
            std::fs::write(&file, content).expect("it can be written");
            page.visit(format!("file://{}", file.display())).await;
            is_harmless(page, &name).await;
        }
    });
}
