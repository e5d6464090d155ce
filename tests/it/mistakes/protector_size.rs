//! A breaker or fuse of five times its rating, or of a sixth.

use loomwright_core::document::{ElementKind, End};

use super::walk::{Edit, Mistake, Wiring, protector};

pub fn big(wiring: &Wiring<'_>) -> Vec<Mistake> {
    times(wiring, 5.0)
}

pub fn small(wiring: &Wiring<'_>) -> Vec<Mistake> {
    times(wiring, 1.0 / 6.0)
}

fn times(wiring: &Wiring<'_>, factor: f64) -> Vec<Mistake> {
    let mut all = Vec::new();
    for (id, wire) in &wiring.document.wires {
        if let Some(rating_a) = wire.fuse.as_ref().and_then(|fuse| fuse.rating_a) {
            let rating_a = rating_a * factor;
            let edit = Edit::of(wiring).wire(id, |it| {
                if let Some(fuse) = &mut it.fuse {
                    fuse.rating_a = Some(rating_a);
                }
            });
            all.extend(edit.made(format!("fuse in {id}: {rating_a:.2} A")));
        }
    }
    for (id, _, element) in wiring.elements() {
        let Some((_, load)) = protector(element) else {
            continue;
        };
        if wiring
            .wires_at(&End::Terminal(id.clone(), load.clone()))
            .is_empty()
        {
            continue;
        }
        let mut what = String::new();
        let edit = Edit::of(wiring).element(id, &element.id, |is| {
            if let ElementKind::Protector(it) = is
                && let Some(rating_a) = &mut it.rating_a
            {
                *rating_a *= factor;
                what = format!("{id}/{}: {rating_a:.2} A", element.id);
            }
        });
        all.extend(edit.made(what));
    }
    all
}
