//! The open project: document, history, what is shown of an edit under way.

use loomwright_core::{
    document::Document,
    edit::{Change, History, change::ApplyError},
    exchange::Texts,
};

/// The open project.
#[derive(Default)]
pub(super) struct OpenProject {
    pub(super) document: Document,
    pub(super) history: History,
    /// A change that is shown but not made: a drag under way.
    pub(super) draft: Option<Change>,
    pub(super) id: String,
    /// What was changed since the last check; none if all of it is to be checked.
    pub(super) unchecked: Option<Change>,
    /// The texts of its records as they were saved last; none before the first saving.
    pub(super) texts: Option<Texts>,
    /// Which saving the last one was.
    pub(super) turn: u64,
    /// When an earlier state was kept last, ms.
    pub(super) earlier_ms: Option<f64>,
    /// The file itself, if a newer program wrote it: it is given back as it came.
    pub(super) newer: Option<Vec<u8>>,
}

impl OpenProject {
    /// A project just opened.
    pub(super) fn of(id: String, document: Document, turn: u64) -> Self {
        Self {
            document,
            id,
            turn,
            ..Self::default()
        }
    }

    /// Takes note of a change that was made.
    fn follow(&mut self, change: &Change) {
        self.unchecked = self.unchecked.take().map(|before| before.then(change));
        if let Some(texts) = &mut self.texts {
            texts.follow(&self.document, change);
        }
    }

    /// Makes an edit.
    pub(super) fn run(&mut self, label: &str, change: Change) -> Result<(), ApplyError> {
        let made = change.clone();
        self.history.run(&mut self.document, label, change)?;
        self.follow(&made);
        Ok(())
    }

    /// Shows a change without making it. None may be shown before.
    pub(super) fn show(&mut self, change: Change) {
        if change.apply(&mut self.document).is_ok() {
            self.draft = Some(change);
        }
    }

    /// Takes back what is only shown; gives it.
    pub(super) fn take_back(&mut self) -> Option<Change> {
        let draft = self.draft.take()?;
        draft.invert().apply(&mut self.document).ok()?;
        Some(draft)
    }

    /// Takes a step back or makes it again; gives its label.
    pub(super) fn step(&mut self, step: Step) -> Result<Option<String>, ApplyError> {
        let (history, document) = (&mut self.history, &mut self.document);
        let (change, label) = match step {
            Step::Undo => (history.undo_change(), history.undo(document)?),
            Step::Redo => (history.redo_change(), history.redo(document)?),
        };
        if let (Some(change), Some(_)) = (change, &label) {
            self.follow(&change);
        }
        Ok(label)
    }

    /// Its file.
    pub(super) fn text(&mut self) -> String {
        let texts = self.texts.get_or_insert_with(|| Texts::new(&self.document));
        texts.file(&self.document)
    }
}

/// A step through the history.
#[derive(Clone, Copy)]
pub(super) enum Step {
    /// Back.
    Undo,
    /// Forward again.
    Redo,
}

#[cfg(test)]
mod tests {
    use loomwright_core::{catalogue, document::Sheet, edit};

    use super::*;

    /// A sheet with one device on it, and the change that moves it to `x_mm`.
    fn project() -> (OpenProject, impl Fn(f64) -> Change) {
        let mut document = Document::default();
        document.sheets.insert("s1".into(), Sheet::default());
        let device = catalogue::all()[0].device();
        let spot = edit::SheetPoint {
            sheet: "s1".into(),
            x_mm: 30.0,
            y_mm: 30.0,
        };
        let added = edit::add_device(&document, device, Some(&spot)).expect("a sheet has room");
        added.apply(&mut document).expect("it was made for this");
        let before = document.clone();
        let items: Vec<_> = before.sheets["s1"].items.keys().cloned().collect();
        let moved = move |x_mm| {
            edit::move_items(&before, &"s1".into(), &items, (x_mm, 0.0)).expect("it can be moved")
        };
        (OpenProject::of("1".into(), document, 0), moved)
    }

    #[test]
    fn a_drag_is_one_step_and_escape_leaves_nothing() {
        let (mut project, moved) = project();
        let before = project.document.clone();
        for x_mm in [1.0, 2.0, 3.0] {
            project.take_back();
            project.show(moved(x_mm));
        }
        assert_ne!(project.document, before, "it is shown");
        let last = project.take_back().expect("it was shown");
        assert_eq!(project.document, before);
        project.run("Move", last).expect("it fits");
        assert_eq!(project.history.undo_label(), Some("Move"));
        project.step(Step::Undo).expect("it was made here");
        assert_eq!(project.document, before);
        assert_eq!(project.history.undo_label(), None);
        // Escape in the middle of another drag: nothing is left, and redo still works.
        project.show(moved(9.0));
        project.take_back();
        assert_eq!(project.document, before);
        assert_eq!(project.history.redo_label(), Some("Move"));
    }
}
