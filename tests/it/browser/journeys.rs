//! The journeys themselves.

use super::{Screen, journey};

#[test]
fn the_page_opens_without_a_complaint() {
    journey("opens", Screen::LAPTOP, async |page| {
        page.wait_until(
            "the name is there",
            "document.body.textContent.includes('Loomwright')",
            20,
        )
        .await;
        page.screenshot("opened").await;
    });
}
