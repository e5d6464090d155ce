//! Journeys with files and with the browser's storage.

use super::page::quoted;
use super::steps::{begin, menu, on_drawing, open_file, open_teasel, save_file, stored_project};
use super::{Page, Screen, journey};
use loomwright_tests::top;

#[test]
fn a_file_opens_elsewhere_and_is_saved_with_the_same_bytes() {
    journey("file", Screen::LAPTOP, async |page| {
        open_teasel(page).await;
        let title = page.text("button.project .title").await;
        let first = save_file(page).await;
        assert!(
            first.starts_with(b"{") && first.ends_with(b"\n"),
            "a JSON file"
        );

        page.move_to_another_computer().await;
        begin(page).await;
        open_file(page, "from-a-friend.json", &first).await;
        let arrived = format!(
            "document.querySelector('button.project .title').textContent === {}",
            quoted(&title)
        );
        page.wait_until("the project is open", &arrived, 20).await;
        page.wait_until("the menu closes", "!document.querySelector('#dialog')", 10)
            .await;
        let second = save_file(page).await;
        assert!(
            first == second,
            "{} and {} bytes differ",
            first.len(),
            second.len()
        );
    });
}

#[test]
fn a_damaged_file_is_refused_and_changes_nothing() {
    journey("damaged", Screen::LAPTOP, async |page| {
        open_teasel(page).await;
        let before = stored_project(page).await;
        let file = save_file(page).await;
        let text = String::from_utf8(file).expect("a project file is text");

        let half = &text[..text.len() / 2];
        refused(page, "half.json", half, "line ").await;
        let spoilt = text.replacen("\"gauge_awg\": ", "\"gauge_awg\": \"thick\", \"was\": ", 1);
        assert_ne!(spoilt, text, "a wire has a gauge");
        refused(page, "thick.json", &spoilt, "gauge_awg").await;
        refused(page, "letter.json", "Dear builder,", "line ").await;
        refused(
            page,
            "other.json",
            "{\"format\": \"something\"}\n",
            "format",
        )
        .await;

        assert_eq!(stored_project(page).await, before);
        assert!(
            page.count("#drawing .g-item").await > 0,
            "the drawing is still there"
        );
    });
}

/// Offers a file that must be refused with a text that names what is wrong.
async fn refused(page: &Page, name: &str, content: &str, names: &str) {
    open_file(page, name, content.as_bytes()).await;
    page.wait_for("#dialog .refused").await;
    let why = page.text("#dialog .refused").await;
    println!("{why}");
    assert!(
        why.contains(name) && why.contains(names),
        "{name}: wanted {names:?} in {why:?}"
    );
    page.screenshot(name).await;
    page.press("#dialog header button").await;
    page.wait_until("the box closes", "!document.querySelector('#dialog')", 10)
        .await;
}

#[test]
fn a_file_is_opened_by_dropping_it_on_the_page() {
    journey("dropped", Screen::LAPTOP, async |page| {
        begin(page).await;
        let teasel = std::fs::read(top().join("public/samples/teasel.json")).expect("the sample");
        page.drop_file(on_drawing(page, 0.5, 0.5).await, "teasel.json", &teasel)
            .await;
        page.wait_until(
            "the project is open",
            "document.querySelector('button.project').textContent.includes('Teasel')",
            20,
        )
        .await;
        page.drop_file(
            on_drawing(page, 0.5, 0.5).await,
            "damaged.json",
            b"{\"format\":",
        )
        .await;
        page.wait_for("#dialog").await;
        let project = stored_project(page).await;
        assert_eq!(
            project["project"]["title"], "Teasel",
            "the open project stays"
        );
    });
}

/// The sizes of a PDF's pages, mm, from its uncompressed page objects.
fn page_sizes_mm(pdf: &[u8]) -> Vec<(f64, f64)> {
    let text = String::from_utf8_lossy(pdf);
    let boxes = text.split("/MediaBox [0 0 ").skip(1);
    let mm = |points: &str| (points.parse::<f64>().expect("a number") * 25.4 / 72.0).round();
    boxes
        .map(|rest| {
            let mut numbers = rest.split([' ', ']']);
            let mut next = || mm(numbers.next().expect("a side"));
            (next(), next())
        })
        .collect()
}

#[test]
fn every_sheet_is_printed_on_a_page_of_its_size() {
    journey("print", Screen::LAPTOP, async |page| {
        begin(page).await;
        // The browser's own dialogue cannot be driven; what fills the page before it can.
        page.eval("(window.print = () => {}, true)").await;
        menu(page, "Print every sheet").await;
        let pdf = page.pdf("sheets").await;
        let sheets = page
            .count(".tabs button[aria-current], .tabs button:has(b)")
            .await;
        let pages = page_sizes_mm(&pdf);
        assert_eq!(pages.len() as u64, sheets, "{pages:?}");
        let papers = [(420.0, 297.0), (297.0, 210.0)];
        assert!(pages.iter().all(|size| papers.contains(size)), "{pages:?}");

        menu(page, "Print this sheet").await;
        let pdf = page.pdf("one").await;
        assert_eq!(page_sizes_mm(&pdf).len(), 1);
    });
}
