//! Papers on the screen and on paper.

use super::super::printed;
use super::super::steps::{PRINT_ALL, begin, menu, open_teasel};
use super::Journey;

/// Fields whose type is so small that a mobile browser zooms the page to them.
const SMALL_TYPE: &str = "[...document.querySelectorAll('input, select, textarea')]\
    .filter((one) => one.getClientRects().length && parseFloat(getComputedStyle(one).fontSize) < 16)\
    .map((one) => `${one.className} ${one.getAttribute('aria-label') ?? one.name}: ${getComputedStyle(one).fontSize}`)";

/// Every paper opens; fields can be typed into without the page being zoomed.
pub async fn every_paper_and_its_fields(journey: &mut Journey<'_>) {
    let page = &*journey.page;
    open_teasel(page).await;
    for room in 1..=page.count(".room-tab").await {
        page.press(&format!(".room-tab:nth-of-type({room})")).await;
        page.wait_until("the room", "document.querySelector('.room > *')", 10)
            .await;
        for at in 1..=page.count(".paper-choice button").await {
            page.press(&format!(".paper-choice button:nth-of-type({at})"))
                .await;
            page.wait_until(
                "the paper",
                "document.querySelector('#shown-paper h1, #shown-paper table, .grid, .new-entry') \
                 && !document.querySelector('.page progress')",
                60,
            )
            .await;
            let small = page.eval(SMALL_TYPE).await;
            let small = small.as_array().cloned().unwrap_or_default();
            assert!(small.is_empty(), "room {room}, paper {at}: {small:#?}");
        }
        if room == 2 {
            page.press("#drawing .g-item").await;
            page.wait_for(".panel .pair").await;
            page.press(".zoom button:nth-of-type(1)").await;
            page.wait_for(".panel .grid td").await;
            page.press(".panel .grid tbody td:nth-of-type(3)").await;
            page.keys("\u{e007}").await;
            page.wait_for(".cell-input").await;
        }
        let small = page.eval(SMALL_TYPE).await;
        let small = small.as_array().cloned().unwrap_or_default();
        assert!(small.is_empty(), "room {room}: {small:#?}");
    }
}

/// Paper as it comes from a builder's printer, in: A4 upright, letter across.
const PAPER_IN: [(&str, (f64, f64)); 3] = [
    ("a4", (8.27, 11.69)),
    ("a4-across", (11.69, 8.27)),
    ("letter-across", (11.0, 8.5)),
];

/// One page a sheet, nothing cut, nothing left out, on whatever paper.
pub async fn every_sheet_is_printed_whole(journey: &mut Journey<'_>) {
    let page = &*journey.page;
    begin(page).await;
    menu(page, PRINT_ALL).await;
    // Where a PDF is made without the page's own printing, this tells what was to be on it.
    page.eval("(window.dispatchEvent(new Event('beforeprint')), true)")
        .await;
    let wanted = page
        .eval(
            "[...document.querySelectorAll('#paper .paper-page')].map((sheet) => \
             [...sheet.querySelectorAll('text, .paper-head')].map((it) => it.textContent).join('').replace(/\\s/g, '').length)",
        )
        .await;
    let wanted: Vec<usize> = serde_json::from_value(wanted).expect("numbers");
    assert!(wanted.len() > 10, "the sample has sheets");
    for (name, size_in) in PAPER_IN {
        page.pdf_on(name, size_in).await;
        let file = format!("target/journeys/engine-{}/{name}.pdf", page.engine());
        let pages = printed::pages(&loomwright_tests::top().join(file));
        assert_eq!(pages.len(), wanted.len(), "{name}: a page for each sheet");
        for (n, (printed, wanted)) in pages.iter().zip(&wanted).enumerate() {
            let place = format!("{name}, sheet {}", n + 1);
            assert!(printed.cut().is_empty(), "{place}: {:?}", printed.cut());
            let words: Vec<&str> = printed.words.iter().map(|it| it.0.as_str()).collect();
            let number = format!("page {} of {}", n + 1, pages.len());
            assert!(words.join(" ").contains(&number), "{place}: no {number:?}");
            let letters = printed.letters();
            assert!(
                letters.abs_diff(*wanted) * 50 <= *wanted,
                "{place}: {letters} letters of {wanted}"
            );
        }
    }
}
