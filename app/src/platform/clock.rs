//! The date, and keys for new records.

/// Today, as YYYY-MM-DD, in the person's own time zone.
pub fn today() -> String {
    let now = js_sys::Date::new_0();
    format!(
        "{:04}-{:02}-{:02}",
        now.get_full_year(),
        now.get_month() + 1,
        now.get_date()
    )
}

/// A time by the clock, as YYYY-MM-DD HH:MM in the person's own time zone.
pub fn spoken(time_ms: f64) -> String {
    let then = js_sys::Date::new(&time_ms.into());
    format!(
        "{:04}-{:02}-{:02} {:02}:{:02}",
        then.get_full_year(),
        then.get_month() + 1,
        then.get_date(),
        then.get_hours(),
        then.get_minutes()
    )
}

/// Milliseconds since the page opened; for measuring gestures, never for results.
pub fn now_ms() -> f64 {
    js_sys::Date::now()
}

/// Does something, and leaves how long it took where the browser's own tools read it, under a name.
pub fn timed<T>(name: &str, act: impl FnOnce() -> T) -> T {
    let Some(timing) = web_sys::window().and_then(|window| window.performance()) else {
        return act();
    };
    // The last one only: a day's edits would fill the browser's list.
    timing.clear_measures_with_measure_name(name);
    timing.clear_marks_with_mark_name(name);
    // A browser without marks measures nothing.
    let _ = timing.mark(name);
    let done = act();
    let _ = timing.measure_with_start_mark(name, name);
    done
}

/// A key that no other project in this browser has.
pub fn fresh_key() -> String {
    format!(
        "{:x}-{:x}",
        js_sys::Date::now() as u64,
        (js_sys::Math::random() * f64::from(u32::MAX)) as u32
    )
}
