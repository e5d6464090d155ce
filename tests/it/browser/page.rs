//! A page of the app as a person has it before them: what can be seen, and hands on mouse, glass
//! and keys.

use std::path::PathBuf;
use std::time::{Duration, Instant};

use base64::Engine;
use fantoccini::{Locator, wd::WindowHandle};
use serde_json::{Value, json};

use super::driver::{Profile, Session};
use super::engine::{Hands, Prints};
use super::hands::{Does, Fingers};
use super::printed;

/// A place on the page, in CSS pixels from its top left corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct At {
    /// To the right.
    pub x: f64,
    /// Downwards.
    pub y: f64,
}

impl At {
    fn towards(self, other: Self, share: f64) -> Self {
        let between = |from: f64, to: f64| from + (to - from) * share;
        Self {
            x: between(self.x, other.x),
            y: between(self.y, other.y),
        }
    }
}

/// The glass before the person, in CSS pixels.
#[derive(Debug, Clone, Copy)]
pub struct Screen {
    /// Width of the page.
    pub width: u32,
    /// Height of the page.
    pub height: u32,
    /// Fingers instead of a mouse.
    pub is_touch: bool,
}

impl Screen {
    /// A laptop with a mouse.
    pub const LAPTOP: Self = Self {
        width: 1366,
        height: 768,
        is_touch: false,
    };
    /// A tablet held upright.
    pub const TABLET: Self = Self {
        width: 1024,
        height: 1366,
        is_touch: true,
    };
    /// A phone in one hand.
    pub const PHONE: Self = Self {
        width: 390,
        height: 844,
        is_touch: true,
    };
}

const CM_PER_IN: f64 = 2.54;

fn from_base64(text: &Value) -> Vec<u8> {
    let text = text.as_str().expect("a PDF comes as text");
    let decoded = base64::engine::general_purpose::STANDARD.decode(text);
    decoded.expect("it is base64")
}

/// How many moves a drag is made of; a hand makes many.
const DRAG_MOVES: u32 = 12;

/// The app in a browser.
pub struct Page {
    session: Session,
    url: String,
    screen: Screen,
}

impl Page {
    /// Opens the app.
    pub async fn open(session: Session, url: String, screen: Screen) -> Self {
        let page = Self {
            session,
            url,
            screen,
        };
        page.load().await;
        page
    }

    async fn load(&self) {
        let size = self.fit().await;
        assert!(size, "the window takes {:?}", self.screen);
        let went = self.session.client.goto(&self.url).await;
        went.expect("the app loads");
    }

    /// Makes the window as large as the screen. False if the engine has no window so narrow.
    async fn fit(&self) -> bool {
        let Screen {
            width,
            height,
            is_touch,
        } = self.screen;
        if self.session.engine.hands() != Hands::Protocol {
            return self.fit_window(width, height).await;
        }
        let metrics = json!({
            "width": width, "height": height, "deviceScaleFactor": 1, "mobile": is_touch,
        });
        self.session
            .devtools("Emulation.setDeviceMetricsOverride", metrics)
            .await;
        let touch = json!({ "enabled": is_touch, "maxTouchPoints": 5 });
        self.session
            .devtools("Emulation.setTouchEmulationEnabled", touch)
            .await;
        true
    }

    /// A window is larger than the page in it by a frame that only the engine knows.
    async fn fit_window(&self, width: u32, height: u32) -> bool {
        let (mut wide, mut high) = (width, height);
        for _ in 0..4 {
            let client = &self.session.client;
            let set = client.set_window_rect(0, 0, wide, high).await;
            set.expect("the window can be resized");
            let begun = Instant::now();
            let mut inside = (0, 0);
            while begun.elapsed() < Duration::from_millis(700) {
                let found = self.eval("[innerWidth, innerHeight]").await;
                let part = |at: usize| found[at].as_u64().unwrap_or_default() as u32;
                inside = (part(0), part(1));
                if inside == (width, height) {
                    return true;
                }
                tokio::time::sleep(Duration::from_millis(25)).await;
            }
            wide = (wide + width).saturating_sub(inside.0);
            high = (high + height).saturating_sub(inside.1);
        }
        false
    }

    /// Goes on at another screen. False if the engine has no window so narrow.
    pub async fn at_screen(&mut self, screen: Screen) -> bool {
        self.screen = screen;
        self.fit().await
    }

    /// The engine's name.
    pub fn engine(&self) -> &'static str {
        self.session.engine.name()
    }

    /// Ends the browser.
    pub async fn close(self) {
        self.session.end().await;
    }

    /// Loads the page again in the same browser.
    pub async fn reload(&self) {
        if self.session.engine.hands() == Hands::Protocol {
            let again = self.session.client.refresh().await;
            return again.expect("the page loads again");
        }
        // A driver's own way may go past what the app has kept for use without a network.
        self.eval("(window.journeyOld = true, location.reload(), true)")
            .await;
        let loaded = "return !window.journeyOld && document.readyState === 'complete'";
        let begun = Instant::now();
        // Between the pages there is nothing that could answer.
        while !matches!(
            self.session.client.execute(loaded, vec![]).await,
            Ok(Value::Bool(true))
        ) {
            let waited = begun.elapsed();
            assert!(waited < Duration::from_secs(30), "the page loads again");
            tokio::time::sleep(Duration::from_millis(25)).await;
        }
    }

    /// Puts this window to sleep, as a browser does with one that nobody looks at; or wakes it.
    pub async fn sleeps(&self, is_asleep: bool) {
        let state = if is_asleep { "frozen" } else { "active" };
        self.session
            .devtools("Page.setWebLifecycleState", json!({ "state": state }))
            .await;
    }

    /// Closes the browser and opens the app in the same one again.
    pub async fn come_back(&mut self) {
        self.session.restart(Profile::Same).await;
        self.load().await;
    }

    /// Kills the browser and opens the app in the same one again.
    pub async fn come_back_from_a_kill(&mut self) {
        self.session.kill().await;
        self.load().await;
    }

    /// Opens the app from somewhere else.
    pub async fn visit(&mut self, url: String) {
        self.url = url;
        self.load().await;
    }

    /// Runs a script in every page from now on, before the page's own.
    pub async fn before_the_page(&self, script: &str) {
        let source = json!({ "source": script });
        self.session
            .devtools("Page.addScriptToEvaluateOnNewDocument", source)
            .await;
    }

    /// Opens the app in a second window of the same browser, and gives both.
    pub async fn second_window(&self) -> [WindowHandle; 2] {
        let client = &self.session.client;
        let first = client.window().await.expect("a window is open");
        let second = client.new_window(true).await.expect("it opens a window");
        let windows = [first, second.handle];
        self.in_window(&windows[1]).await;
        client.goto(&self.url).await.expect("the app loads");
        windows
    }

    /// Goes on in this window.
    pub async fn in_window(&self, window: &WindowHandle) {
        let client = &self.session.client;
        let went = client.switch_to_window(window.clone()).await;
        went.expect("the window is open");
    }

    /// Closes this window and goes on in another.
    pub async fn close_window(&self, other: &WindowHandle) {
        let client = &self.session.client;
        client.close_window().await.expect("the window closes");
        self.in_window(other).await;
    }

    /// Closes the browser and opens the app in one that has never seen it.
    pub async fn move_to_another_computer(&mut self) {
        self.session.restart(Profile::Empty).await;
        self.load().await;
    }

    // What can be seen.

    /// The value of a JavaScript expression in the page.
    pub async fn eval(&self, expression: &str) -> Value {
        let answer = self
            .session
            .client
            .execute(&format!("return ({expression})"), vec![])
            .await;
        answer.unwrap_or_else(|error| panic!("{expression}: {error}"))
    }

    /// Waits until a JavaScript expression is true, and says how long it took.
    pub async fn wait_until(&self, what: &str, expression: &str, seconds: u64) -> Duration {
        let start = Instant::now();
        loop {
            if self
                .eval(&format!("Promise.resolve({expression}).then(Boolean)"))
                .await
                == Value::Bool(true)
            {
                return start.elapsed();
            }
            let waited = start.elapsed();
            assert!(
                waited < Duration::from_secs(seconds),
                "not within {seconds} s: {what}"
            );
            tokio::time::sleep(Duration::from_millis(25)).await;
        }
    }

    /// Waits until an element is there and can be seen.
    pub async fn wait_for(&self, css: &str) {
        let shown = format!(
            "document.querySelector({})?.getClientRects().length",
            quoted(css)
        );
        self.wait_until(css, &shown, 20).await;
    }

    /// The visible text of the first element.
    pub async fn text(&self, css: &str) -> String {
        let text = self
            .eval(&format!(
                "document.querySelector({}).textContent",
                quoted(css)
            ))
            .await;
        text.as_str().unwrap_or_default().to_owned()
    }

    /// How many elements there are.
    pub async fn count(&self, css: &str) -> u64 {
        let count = self
            .eval(&format!(
                "document.querySelectorAll({}).length",
                quoted(css)
            ))
            .await;
        count.as_u64().unwrap_or_default()
    }

    /// The middle of the first element, scrolled into view, once it rests: what is drawn anew or moves between two
    /// frames would be missed by a press, as by a person's. It is taken as it is after a second of that.
    pub async fn middle_of(&self, css: &str) -> At {
        self.wait_for(css).await;
        let middle = format!(
            "(async () => {{ const frame = () => Promise.race([new Promise(requestAnimationFrame), \
                new Promise(done => setTimeout(done, 50))]); \
             let before, middle; \
             for (let n = 0; n < 60; n++) {{ \
                const element = document.querySelector({}); \
                if (!element) {{ await frame(); continue; }} \
                if (!(element instanceof SVGElement)) \
                  element.scrollIntoView({{ block: 'nearest', inline: 'nearest' }}); \
                const box = element.getBoundingClientRect(); \
                middle = [box.x + box.width / 2, box.y + box.height / 2]; \
                if (before && before[0] === element && before[1] === String(middle)) break; \
                before = [element, String(middle)]; \
                await frame(); }} \
             return middle; }})()",
            quoted(css)
        );
        let middle = self.eval(&middle).await;
        let part = |index: usize| middle[index].as_f64().expect("a box has a middle");
        At {
            x: part(0),
            y: part(1),
        }
    }

    /// What the page wrote to the console since the last call, errors only.
    pub async fn take_console_errors(&self) -> Vec<String> {
        if self.session.engine.hands() == Hands::Protocol {
            return self.session.console_errors().await;
        }
        // The script that is served beside the app keeps them.
        let kept = self.eval("window.journeyErrors?.() ?? []").await;
        let kept = kept.as_array().cloned().unwrap_or_default();
        kept.iter().map(ToString::to_string).collect()
    }

    /// Where this journey's pictures and downloads are.
    pub fn folder(&self) -> &std::path::Path {
        self.session.folder()
    }

    /// Saves a picture of the page as `NAME.png` in the journey's folder.
    pub async fn screenshot(&self, name: &str) {
        let file = self.session.folder().join(format!("{name}.png"));
        if let Ok(picture) = self.session.client.screenshot().await {
            std::fs::write(file, picture).expect("the journey's folder can be written");
        }
    }

    // Hands.

    /// The page as it would be printed, also kept as `NAME.pdf` in the journey's folder.
    pub async fn pdf(&self, name: &str) -> Vec<u8> {
        self.pdf_on(name, (8.5, 11.0)).await
    }

    /// The same on paper of this width and height, in.
    pub async fn pdf_on(&self, name: &str, (wide, high): (f64, f64)) -> Vec<u8> {
        let pdf = match self.session.engine.prints() {
            Prints::Program => printed::by_program(&self.session, &self.url, (wide, high)),
            Prints::Command => {
                let page = json!({ "width": wide * CM_PER_IN, "height": high * CM_PER_IN });
                let wanted = json!({ "page": page, "background": true });
                let answer = self.session.command("print", wanted).await;
                from_base64(&answer.unwrap_or_else(|error| panic!("it cannot print: {error}")))
            }
            Prints::Protocol => {
                let wanted = json!({
                    "preferCSSPageSize": true, "printBackground": true,
                    "paperWidth": wide, "paperHeight": high,
                });
                let answer = self.session.devtools("Page.printToPDF", wanted).await;
                from_base64(&answer["data"])
            }
        };
        std::fs::write(self.session.folder().join(format!("{name}.pdf")), &pdf)
            .expect("target can be written");
        pdf
    }

    /// Presses an element: with the mouse, or with a finger where the screen is glass.
    pub async fn press(&self, css: &str) {
        let at = self.middle_of(css).await;
        self.press_at(at).await;
    }

    /// Presses the first element with this selector whose text is `text`.
    pub async fn press_named(&self, css: &str, text: &str) {
        let found = format!(
            "[...document.querySelectorAll({})].find(one => one.textContent.trim() === {})",
            quoted(css),
            quoted(text)
        );
        self.wait_until(text, &found, 20).await;
        let name = format!("{css} {text}");
        self.eval(&format!(
            "({found}).setAttribute('data-journey-name', {})",
            quoted(&name)
        ))
        .await;
        self.press(&format!("[data-journey-name={}]", quoted(&name)))
            .await;
    }

    /// Presses a place.
    pub async fn press_at(&self, at: At) {
        if self.screen.is_touch {
            self.session.fingers(Fingers::Press, &[at]).await;
            self.session.fingers(Fingers::Release, &[at]).await;
        } else {
            self.session.mouse(Does::Hover, at).await;
            self.session.mouse(Does::Press, at).await;
            self.session.mouse(Does::Release, at).await;
        }
    }

    /// Moves the mouse to a place and lets it rest there.
    pub async fn hover(&self, at: At) {
        self.session.mouse(Does::Hover, at).await;
    }

    /// A finger goes from one place to another, whatever the screen.
    pub async fn finger(&self, from: At, to: At) {
        self.session.fingers(Fingers::Press, &[from]).await;
        for step in 1..=DRAG_MOVES {
            let at = from.towards(to, f64::from(step) / f64::from(DRAG_MOVES));
            self.session.fingers(Fingers::Move, &[at]).await;
        }
        self.session.fingers(Fingers::Release, &[to]).await;
    }

    /// A finger goes down and stays, whatever the screen.
    pub async fn hold(&self, at: At) {
        self.session.fingers(Fingers::Press, &[at]).await;
    }

    /// Presses at the first place, goes along the others and lets go at the last.
    pub async fn drag_along(&self, places: &[At]) {
        let Some((first, rest)) = places.split_first() else {
            return;
        };
        self.drag_begin(*first, *first).await;
        for at in rest {
            if self.screen.is_touch {
                self.session.fingers(Fingers::Move, &[*at]).await;
            } else {
                self.session.mouse(Does::Drag, *at).await;
            }
        }
        self.drag_end(*places.last().unwrap_or(first)).await;
    }

    /// Presses at one place, moves to another and lets go.
    pub async fn drag(&self, from: At, to: At) {
        self.drag_begin(from, to).await;
        self.drag_end(to).await;
    }

    /// Presses at one place and moves to another, without letting go.
    pub async fn drag_begin(&self, from: At, to: At) {
        if self.screen.is_touch {
            self.session.fingers(Fingers::Press, &[from]).await;
        } else {
            self.session.mouse(Does::Hover, from).await;
            self.session.mouse(Does::Press, from).await;
        }
        for step in 1..=DRAG_MOVES {
            let at = from.towards(to, f64::from(step) / f64::from(DRAG_MOVES));
            if self.screen.is_touch {
                self.session.fingers(Fingers::Move, &[at]).await;
            } else {
                self.session.mouse(Does::Drag, at).await;
            }
        }
    }

    /// Lets go after [`Page::drag_begin`].
    pub async fn drag_end(&self, at: At) {
        if self.screen.is_touch {
            self.session.fingers(Fingers::Release, &[at]).await;
        } else {
            self.session.mouse(Does::Release, at).await;
        }
    }

    /// Two fingers, `apart` pixels from each other around a place, moved until they are
    /// `apart_after` pixels from each other.
    pub async fn pinch(&self, around: At, apart: f64, apart_after: f64) {
        let fingers = |apart: f64| {
            let half = apart / 2.0;
            [
                At {
                    x: around.x - half,
                    ..around
                },
                At {
                    x: around.x + half,
                    ..around
                },
            ]
        };
        let session = &self.session;
        session.fingers(Fingers::Press, &fingers(apart)).await;
        for step in 1..=DRAG_MOVES {
            let share = f64::from(step) / f64::from(DRAG_MOVES);
            let between = fingers(apart + (apart_after - apart) * share);
            session.fingers(Fingers::Move, &between).await;
        }
        session
            .fingers(Fingers::Release, &fingers(apart_after))
            .await;
    }

    /// Turns the wheel over a place; a positive `delta_y` scrolls down.
    pub async fn wheel(&self, at: At, delta_y: f64) {
        let event = json!({
            "type": "mouseWheel", "x": at.x, "y": at.y, "deltaX": 0, "deltaY": delta_y,
        });
        self.session
            .devtools("Input.dispatchMouseEvent", event)
            .await;
    }

    /// A pen goes down at one place, moves to another and leaves it; `palm` lies on the screen meanwhile.
    pub async fn pen(&self, from: At, to: At, palm: At) {
        let session = &self.session;
        session.pen(Does::Hover, from).await;
        session.pen(Does::Press, from).await;
        session.fingers(Fingers::Press, &[palm]).await;
        for step in 1..=DRAG_MOVES {
            let at = from.towards(to, f64::from(step) / f64::from(DRAG_MOVES));
            session.pen(Does::Drag, at).await;
        }
        session.fingers(Fingers::Release, &[palm]).await;
        session.pen(Does::Release, to).await;
    }

    /// Drags a file from outside onto a place and lets it go there.
    pub async fn drop_file(&self, at: At, name: &str, content: &[u8]) {
        let file = self.session.folder().join(name);
        std::fs::write(&file, content).expect("the journey's folder can be written");
        for kind in ["dragEnter", "dragOver", "drop"] {
            let data =
                json!({ "items": [], "files": [file.to_string_lossy()], "dragOperationsMask": 1 });
            let event = json!({ "type": kind, "x": at.x, "y": at.y, "data": data });
            self.session
                .devtools("Input.dispatchDragEvent", event)
                .await;
        }
    }

    /// Types into what has the focus; special keys are those of [`fantoccini::key::Key`], and a
    /// modifier holds until the end of the text.
    pub async fn keys(&self, text: &str) {
        let element = self
            .session
            .client
            .active_element()
            .await
            .expect("something has the focus");
        element.send_keys(text).await.expect("keys arrive");
    }

    /// Replaces the text of a field and leaves it.
    pub async fn fill(&self, css: &str, text: &str) {
        self.wait_for(css).await;
        let field = self
            .session
            .client
            .find(Locator::Css(css))
            .await
            .expect("it was there");
        field.clear().await.expect("the field can be cleared");
        field.send_keys(text).await.expect("keys arrive");
    }

    /// Puts a text into a field at once, as a paste does: the driver would type its tabs as keys.
    pub async fn put_text(&self, css: &str, text: &str) {
        self.press(css).await;
        self.eval(&format!(
            "(() => {{ const field = document.querySelector({}); field.select(); \
             return document.execCommand('insertText', false, {}); }})()",
            quoted(css),
            quoted(text)
        ))
        .await;
    }

    /// Picks an entry of a list field by its value.
    pub async fn choose(&self, css: &str, value: &str) {
        self.wait_for(css).await;
        // Not every engine brings a list that is cut off by its panel into sight.
        self.eval(&format!(
            "document.querySelector({}).scrollIntoView({{ block: 'center' }})",
            quoted(css)
        ))
        .await;
        let list = self
            .session
            .client
            .find(Locator::Css(css))
            .await
            .expect("it was there");
        list.select_by_value(value)
            .await
            .unwrap_or_else(|error| panic!("{css}={value}: {error}"));
    }

    /// Gives a file to a file field, as the browser's file dialog does.
    pub async fn upload(&self, css: &str, name: &str, content: &[u8]) {
        let file = self.session.folder().join(name);
        std::fs::write(&file, content).expect("the journey's folder can be written");
        let field = self.session.client.find(Locator::Css(css)).await;
        let field = field.unwrap_or_else(|error| panic!("{css}: {error}"));
        field
            .send_keys(&file.to_string_lossy())
            .await
            .expect("the field takes a file");
    }

    /// Waits for a download and gives its content.
    pub async fn downloaded(&self, ending: &str, not_before: &[PathBuf]) -> (PathBuf, Vec<u8>) {
        let start = Instant::now();
        loop {
            let new = self
                .downloads(ending)
                .into_iter()
                .find(|file| !not_before.contains(file));
            if let Some(file) = new {
                let content = std::fs::read(&file).expect("a finished download can be read");
                return (file, content);
            }
            assert!(
                start.elapsed() < Duration::from_secs(20),
                "no download *{ending} within 20 s"
            );
            tokio::time::sleep(Duration::from_millis(50)).await;
        }
    }

    /// The finished downloads with that ending.
    pub fn downloads(&self, ending: &str) -> Vec<PathBuf> {
        let entries = std::fs::read_dir(self.session.folder())
            .into_iter()
            .flatten()
            .flatten();
        let files = entries.map(|entry| entry.path());
        files
            .filter(|file| file.to_string_lossy().ends_with(ending))
            .collect()
    }
}

/// A text as a JavaScript literal.
pub fn quoted(text: &str) -> String {
    Value::from(text).to_string()
}
