//! What a person sets once for this browser, apart from any project.

use leptos::prelude::*;
use loomwright_core::{document::read::read_text, exchange::json};
use serde::{Deserialize, Serialize};

use crate::{
    platform::page,
    storage::{Browser, Store},
    strings,
};

const NAME: &str = "loomwright.settings";

/// The inks the drawing is shown in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Theme {
    /// As the device is set.
    #[default]
    Device,
    /// Dark ink on paper.
    Light,
    /// Light ink on slate.
    Dark,
    /// Black on white, heavier lines, for direct sun.
    Sun,
}

impl Theme {
    /// All of them, in the order offered.
    pub const ALL: [Self; 4] = [Self::Device, Self::Light, Self::Dark, Self::Sun];

    fn word(self) -> &'static str {
        match self {
            Self::Device if page::matches("(prefers-color-scheme: dark)") => "dark",
            Self::Device | Self::Light => "light",
            Self::Dark => "dark",
            Self::Sun => "sun",
        }
    }
}

/// The hand that holds the tablet; the tools are at its thumb.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Hand {
    /// Tools at the left edge.
    #[default]
    Left,
    /// Tools at the right edge.
    Right,
}

/// The settings of this browser.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a setting of its own, in a file"
)]
pub struct Settings {
    /// Inks.
    pub theme: Theme,
    /// Edge of the tools.
    pub hand: Hand,
    /// True if a finger draws and moves things while a pen is in use; else it only moves the sheet.
    pub fingers_draw: bool,
    /// True if the line that says what comes next is switched off.
    pub next_hidden: bool,
    /// Who accepts findings and writes the log.
    pub who: String,
    /// True once the safety notice was read.
    pub notice_read: bool,
    /// True once the person read where projects are kept and what may delete them.
    pub keeping_read: bool,
}

impl Settings {
    /// The settings kept in this browser.
    pub fn load() -> Self {
        Browser
            .get(NAME)
            .and_then(|text| read_text(&text))
            .unwrap_or_default()
    }

    /// Who writes into the project.
    pub fn builder(&self) -> String {
        match self.who.trim() {
            "" => strings::BUILDER.into(),
            who => who.into(),
        }
    }

    /// A signal of the settings that keeps every change and applies it to the page.
    pub fn signal() -> RwSignal<Self> {
        let settings = RwSignal::new(Self::load());
        Effect::new(move |_| {
            settings.with(|settings| {
                page::set_root("theme", settings.theme.word());
                page::set_root(
                    "hand",
                    if settings.hand == Hand::Left {
                        "left"
                    } else {
                        "right"
                    },
                );
                // The person sets them again if they cannot be kept; no work is lost.
                let _ = Browser.set(NAME, &json(settings));
            });
        });
        settings
    }
}
