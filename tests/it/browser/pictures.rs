//! The README's picture, taken by each run and compared with the one that is kept, so that it cannot go stale.
//! `LOOMWRIGHT_WRITE=1 cargo test pictures` keeps the new one.

use base64::{Engine, engine::general_purpose::STANDARD};
use loomwright_tests::top;

use super::page::quoted;
use super::steps::{checked, open_teasel};
use super::{Screen, journey};

const PICTURE: &str = "public/pictures/overhead-panel.png";

const SCREEN: Screen = Screen {
    width: 1280,
    height: 800,
    is_touch: false,
};

/// Largest mean difference of two pictures, as a share of full scale, that counts as the same: room for another
/// version of the browser's lettering. A panel that opens or closes changes some 0.1.
const MOST: f64 = 0.02;

#[test]
fn pictures_of_the_readme_show_the_app_as_it_is() {
    journey("pictures", SCREEN, async |page| {
        open_teasel(page).await;
        page.press(".zoom [aria-label='Whole sheet']").await;
        page.press("#drawing .scene > .g-wire [data-hit], #drawing .scene > .g-wire path")
            .await;
        page.wait_for(".panel .pair").await;
        checked(page).await;
        page.screenshot("overhead-panel").await;
        let taken = std::fs::read(page.folder().join("overhead-panel.png")).expect("just taken");
        let kept = top().join(PICTURE);
        if loomwright_tests::is_writing() {
            std::fs::write(&kept, &taken).expect("the picture can be written");
        }
        let kept = std::fs::read(&kept).expect("the README's picture");
        let [taken, kept] = [taken, kept]
            .map(|png| quoted(&format!("data:image/png;base64,{}", STANDARD.encode(png))));
        let difference = page
            .eval(&format!(
                "(async () => {{ const pixels = async (url) => {{ \
                    const picture = new Image(); picture.src = url; await picture.decode(); \
                    const small = Object.assign(document.createElement('canvas'), {{ width: 160, height: 100 }}); \
                    const pen = small.getContext('2d'); pen.drawImage(picture, 0, 0, 160, 100); \
                    return pen.getImageData(0, 0, 160, 100).data; }}; \
                 const [a, b] = [await pixels({taken}), await pixels({kept})]; \
                 return a.reduce((sum, value, at) => sum + Math.abs(value - b[at]), 0) / a.length / 255; }})()"
            ))
            .await
            .as_f64()
            .expect("two pictures of one size");
        println!("the README's picture differs by {difference:.4} of full scale");
        assert!(
            difference <= MOST,
            "{PICTURE} is not what the app looks like now ({difference:.3} > {MOST}): look at both, then write it \
             with LOOMWRIGHT_WRITE=1"
        );
    });
}
