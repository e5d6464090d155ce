//! Puts a scene into the page: one `<g>` a group, touched only when its group changed.

use loomwright_core::order::Map;
use std::sync::Arc;

use loomwright_core::{
    document::Document,
    drawing::{Group, GroupKey, Scene, svg::markup},
    markup::escape,
};
use web_sys::Element;

/// What is in the page now.
#[derive(Default)]
pub struct Painter {
    painted: Map<GroupKey, (Element, Arc<Group>)>,
}

impl Painter {
    /// Makes the page show this scene inside `layer`. Returns how many groups were touched.
    pub fn paint(&mut self, layer: &Element, scene: &Scene, document: &Document) -> usize {
        let mut touched = 0;
        if self.painted.is_empty() {
            // A room may get the elements of the one before, with what was painted there.
            layer.set_inner_html("");
        }
        self.painted.retain(|key, (element, _)| {
            let stays = scene.groups.contains_key(key);
            if !stays {
                element.remove();
                touched += 1;
            }
            stays
        });
        // From the last to the first: each is inserted before the next, which is then always there.
        let mut next: Option<Element> = None;
        for (key, group) in scene.groups.iter().rev() {
            let known = self.painted.get(key);
            if let Some((element, before)) = known
                && (Arc::ptr_eq(before, group) || before == group)
            {
                next = Some(element.clone());
                continue;
            }
            touched += 1;
            let element = match known {
                Some((element, _)) => element.clone(),
                None => match create(layer, next.as_ref(), key) {
                    Some(element) => element,
                    None => continue,
                },
            };
            set(&element, "aria-label", &group.label);
            element.set_inner_html(&inside(key, group, scene, document));
            self.painted
                .insert(key.clone(), (element.clone(), group.clone()));
            next = Some(element);
        }
        touched
    }

    /// Forgets what is in the page, which was emptied.
    pub fn clear(&mut self) {
        self.painted.clear();
    }
}

fn create(layer: &Element, next: Option<&Element>, key: &GroupKey) -> Option<Element> {
    let element = layer
        .owner_document()?
        .create_element_ns(Some("http://www.w3.org/2000/svg"), "g")
        .ok()?;
    let (class, name, id) = match key {
        GroupKey::Frame => ("g-frame", "data-frame", ""),
        GroupKey::Legend => ("g-legend", "data-legend", ""),
        GroupKey::Note(_) => ("g-note", "data-note", ""),
        GroupKey::Cable(id) => ("g-cable", "data-cable", id.as_str()),
        GroupKey::Wire(id) => ("g-wire", "data-wire", id.as_str()),
        GroupKey::Ink => ("g-ink", "data-ink", ""),
        GroupKey::Item(id) => ("g-item", "data-item", id.as_str()),
    };
    set(&element, "class", class);
    set(&element, name, id);
    let is_chosen = matches!(key, GroupKey::Item(_) | GroupKey::Wire(_));
    // A part of a drawing that can be chosen is no button: its label does not repeat every text in it.
    let role = if is_chosen { "graphics-object" } else { "img" };
    set(&element, "role", role);
    if is_chosen {
        set(
            &element,
            "tabindex",
            if matches!(key, GroupKey::Item(_)) {
                "0"
            } else {
                "-1"
            },
        );
    }
    layer
        .insert_before(&element, next.map(AsRef::as_ref))
        .ok()
        .map(|_| element)
}

/// The group's shapes, and for an item its pins with their names.
fn inside(key: &GroupKey, group: &Group, scene: &Scene, document: &Document) -> String {
    // The group's label says what its texts say.
    let mut text = format!("<g aria-hidden=\"true\">{}</g>", markup(group));
    let GroupKey::Item(item) = key else {
        return text;
    };
    for ((owner, _), spot) in &scene.pins {
        if owner == item {
            text.push_str(&format!(
                "<circle class=\"pin\" data-end=\"{}\" cx=\"{}\" cy=\"{}\" r=\"1.2\" role=\"img\" \
                 aria-label=\"{}\"/>",
                escape(&spot.end.to_string()),
                spot.at.x,
                spot.at.y,
                escape(&document.end_label(&spot.end)),
            ));
        }
    }
    text
}

/// Sets an attribute that no browser refuses.
pub fn set(element: &Element, name: &str, value: &str) {
    let done = element.set_attribute(name, value);
    debug_assert!(done.is_ok(), "{name} is a valid name");
}
