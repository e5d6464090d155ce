//! The values whose origin is kept, record by record.

use super::{
    Contact, Device, Diode, ElementKind, InlineFuse, Jack, Origins, Place, Protector, Record,
    Route, Switch, ValueOrigin, Wire,
};
use crate::units::Gauge;

/// A record with values whose origin is kept.
pub trait Known {
    /// Those values as bits, by the name of the field; `None` where not set.
    fn known(&self) -> Vec<(&'static str, Option<u64>)>;

    /// Their origins.
    fn origins(&self) -> &Origins;

    /// Their origins, to be changed.
    fn origins_mut(&mut self) -> &mut Origins;

    /// Gives every known value this origin.
    fn mark(&mut self, origin: ValueOrigin) {
        for (field, value) in self.known() {
            let origin = value.map(|_| origin);
            self.origins_mut().set(field, origin);
        }
    }

    /// Takes out the origin of each value that is another one than it was: it was typed since.
    fn typed_since(&mut self, was: &dyn Known) {
        for (now, before) in self.known().into_iter().zip(was.known()) {
            if now != before && self.origins().of(now.0) == was.origins().of(now.0) {
                self.origins_mut().set(now.0, None);
            }
        }
    }
}

/// A value as bits.
trait Bits {
    fn bits(self) -> Option<u64>;
}

impl Bits for Option<f64> {
    fn bits(self) -> Option<u64> {
        self.map(f64::to_bits)
    }
}

impl Bits for Option<bool> {
    fn bits(self) -> Option<u64> {
        self.map(u64::from)
    }
}

impl Bits for Option<Gauge> {
    fn bits(self) -> Option<u64> {
        self.map(|gauge| u64::from(gauge.0.to_le_bytes()[0]))
    }
}

macro_rules! known {
    ($($record:ident: $($field:ident),+;)+) => {$(
        impl Known for $record {
            fn known(&self) -> Vec<(&'static str, Option<u64>)> {
                vec![$((stringify!($field), self.$field.bits())),+]
            }

            fn origins(&self) -> &Origins {
                &self.origins
            }

            fn origins_mut(&mut self) -> &mut Origins {
                &mut self.origins
            }
        }
    )+};
}

known! {
    Wire: gauge_awg, insulation_c, length_m;
    InlineFuse: rating_a;
    Protector: rating_a;
    Switch: rating_a;
    Contact: rating_a;
    Diode: rating_a;
    Jack: isolated;
    Place: conductive;
    Route: length_m;
}

impl ElementKind {
    /// Its values whose origin is kept, if its kind has any.
    pub fn known(&self) -> Option<&dyn Known> {
        match self {
            Self::Protector(it) => Some(it),
            Self::Switch(it) => Some(it),
            Self::Contact(it) => Some(it),
            Self::Diode(it) => Some(it),
            Self::Jack(it) => Some(it),
            _ => None,
        }
    }

    /// The same, to be changed.
    pub fn known_mut(&mut self) -> Option<&mut dyn Known> {
        match self {
            Self::Protector(it) => Some(it),
            Self::Switch(it) => Some(it),
            Self::Contact(it) => Some(it),
            Self::Diode(it) => Some(it),
            Self::Jack(it) => Some(it),
            _ => None,
        }
    }
}

impl Device {
    /// Gives every known value inside it this origin.
    pub fn mark(&mut self, origin: ValueOrigin) {
        for known in (self.elements.iter_mut()).filter_map(|it| it.is.known_mut()) {
            known.mark(origin);
        }
    }
}

impl Record {
    /// Takes out the origin of each value that is another one than it was in the record before.
    pub fn typed_since(&mut self, was: &Self) {
        match (self, was) {
            (Self::Wire(now), Self::Wire(was)) => {
                now.typed_since(was);
                if let (Some(now), Some(was)) = (&mut now.fuse, &was.fuse) {
                    now.typed_since(was);
                }
            }
            (Self::Device(now), Self::Device(was)) => {
                for element in &mut now.elements {
                    let before = was.element(&element.id).and_then(|it| it.is.known());
                    if let (Some(now), Some(was)) = (element.is.known_mut(), before) {
                        now.typed_since(was);
                    }
                }
            }
            (Self::Place(now), Self::Place(was)) => now.typed_since(was),
            (Self::Route(now), Self::Route(was)) => now.typed_since(was),
            _ => {}
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::{
        catalogue,
        document::{Document, ElementKind, Origins, Record, ValueOrigin, Wire},
        edit::{self, Key, grid, update_record},
        exchange::{
            self, compare,
            list::{List, import},
            merge,
        },
        reports::{self, cuts, schedule},
        rules,
        testing::{asked, document},
        units::Gauge,
    };

    const PLAIN: &str = "
        battery BT1 emf=13.8 ohm=0.001
        breaker CB1 5
        load LT1 2
        wire P1 BT1.+ CB1.1 8 0.1m
        wire A CB1.2 LT1.+ 22 1m
        wire B LT1.- BT1.- 22 1m
        state CRUISE
    ";

    /// The document after a wire was edited as the app does it.
    fn touched(before: &Document, id: &str, touch: impl FnOnce(&mut Wire)) -> Document {
        let mut wire = before.wires[id].clone();
        touch(&mut wire);
        let change = update_record(before, &Key::Wire(id.into()), Record::Wire(wire));
        let mut after = before.clone();
        (change.expect("a sound wire").apply(&mut after)).expect("made for it");
        after
    }

    fn measured(length_m: f64) -> Document {
        let after = touched(&document(PLAIN), "A", |wire| wire.length_m = Some(length_m));
        touched(&after, "A", |wire| {
            wire.origins.set("length_m", Some(ValueOrigin::Measured));
        })
    }

    #[test]
    fn a_measured_length_is_one_until_another_is_typed() {
        let document = measured(1.3);
        let origin = |it: &Document| it.wires["A"].origins.of("length_m");
        assert_eq!(origin(&document), Some(ValueOrigin::Measured));
        let other = touched(&document, "A", |wire| wire.colour = "red".into());
        assert_eq!(origin(&other), Some(ValueOrigin::Measured));
        let typed = touched(&document, "A", |wire| wire.length_m = Some(1.4));
        assert_eq!(origin(&typed), None);
        let unset = touched(&document, "A", |wire| wire.length_m = None);
        assert!(unset.wires["A"].origins.is_empty());
        // A splice makes two lengths that nobody measured.
        let change = edit::splice_into(&document, &"A".into(), 0.5, None).expect("a wire");
        let mut spliced = document.clone();
        change.apply(&mut spliced).expect("made for it");
        assert!(spliced.wires.values().all(|it| it.origins.is_empty()));
    }

    #[test]
    fn a_value_of_the_catalog_is_one_until_it_is_typed() {
        let part = catalogue::get("breaker-5").expect("it is listed");
        let change = edit::add_device(&Document::default(), part.device(), None);
        let mut document = Document::default();
        (change.expect("a free tag").apply(&mut document)).expect("made for it");
        let (id, device) = document.devices.iter().next().expect("one was added");
        let origin = |it: &ElementKind| it.known().and_then(|it| it.origins().of("rating_a"));
        assert_eq!(origin(&device.elements[0].is), Some(ValueOrigin::Catalogue));
        let mut typed = device.clone();
        *typed.elements[0].is.rating_mut().expect("a breaker") = Some(35.0);
        let key = Key::Device(id.clone());
        let change = update_record(&document, &key, Record::Device(typed)).expect("sound");
        let text = schedule::table(&document).to_csv();
        assert!(text.contains("rating catalog"), "{text}");
        change.apply(&mut document).expect("made for it");
        let device = document.devices.values().next().expect("it is there");
        assert_eq!(origin(&device.elements[0].is), None);
        assert!(!schedule::table(&document).to_csv().contains("origin"));
    }

    /// Bus bars of the catalog give no rating, and no jack of it says how its body is mounted.
    #[test]
    fn the_catalog_marks_what_it_gives_and_nothing_else() {
        for part in catalogue::all() {
            for element in part.device().elements {
                let Some(known) = element.is.known() else {
                    continue;
                };
                for (field, value) in known.known() {
                    let origin = known.origins().of(field);
                    assert_eq!(origin, value.map(|_| ValueOrigin::Catalogue), "{}", part.id);
                }
            }
        }
    }

    #[test]
    fn pasted_values_are_so_until_they_are_typed() {
        let list = List::read(
            "Wire No\tFrom\tTo\tAWG\tInsulation\tLength (m)\n\
             P1\tMBUS CB5\tXP1 J106-1\t20\t150\t1.2\n\
             P2\tXP1 J106-9\tGB1:3\t\t\t\n",
        );
        let mut document = Document::default();
        let made = import(&document, &list).expect("a sound list");
        made.change.apply(&mut document).expect("made for it");
        let wire = |number: &str| {
            let mut wires = document.wires.iter();
            wires.find(|(_, it)| it.number == number).expect("a row")
        };
        assert_eq!(
            document.origins_of(wire("P1").1, true),
            "gauge pasted, insulation pasted, length pasted"
        );
        let (id, bare) = wire("P2");
        assert!(bare.gauge_awg.is_none() && bare.origins.is_empty());
        // A block pasted into the list on screen, and then a typed cell.
        let column = |key| {
            grid::COLUMNS
                .iter()
                .position(|it| it.key == key)
                .expect("a column")
        };
        let put = |text: &str, origin| {
            let (rows, block) = ([Some(id.clone())], [vec![text.to_owned()]]);
            let change = grid::put_block(&document, &rows, column("gauge_awg"), &block, origin);
            let mut after = document.clone();
            (change.expect("a gauge").apply(&mut after)).expect("made for it");
            after.wires[id].clone()
        };
        let pasted = put("18", Some(ValueOrigin::Pasted));
        assert_eq!(pasted.gauge_awg, Some(Gauge(18)));
        assert_eq!(pasted.origins.of("gauge_awg"), Some(ValueOrigin::Pasted));
        assert!(put("18", None).origins.is_empty());
    }

    #[test]
    fn the_insulation_of_the_project_is_used_and_said() {
        let mut document = document(PLAIN);
        let missing = |document: &Document| {
            let verdict = rules::check(document);
            let of = |it: &&rules::NotChecked| it.because.contains("insulation rating");
            verdict.not_checked.iter().filter(of).count()
        };
        assert_eq!(missing(&document), 3);
        document.project.insulation_c = Some(150.0);
        assert_eq!(missing(&document), 0);
        let wire = &document.wires["A"];
        assert_eq!(document.insulation_c(wire), Some(150.0));
        assert_eq!(
            document.origins_of(wire, true),
            "insulation project default"
        );
        assert_eq!((wire.insulation_c, wire.origins.is_empty()), (None, true));
        let paper = reports::paper(&asked(&document), "wires").expect("it is listed");
        assert!(paper.to_text().contains("insulation project default"));
        document
            .wires
            .get_mut("A")
            .expect("it is there")
            .insulation_c = Some(105.0);
        assert_eq!(document.insulation_c(&document.wires["A"]), Some(105.0));
        assert_eq!(document.origins_of(&document.wires["A"], true), "");
    }

    #[test]
    fn a_fix_computes_a_value_that_is_no_longer_of_a_list() {
        let mut document = document(&PLAIN.replace("CB1 5", "CB1 1"));
        let breaker = document.devices.get_mut("CB1").expect("the breaker");
        breaker.mark(ValueOrigin::Catalogue);
        let verdict = rules::check(&document);
        let mut mends = verdict.findings.iter().flat_map(|it| &it.mends);
        let mend = mends
            .find(|it| it.title.contains("Make CB1"))
            .expect("a fix");
        mend.change.apply(&mut document).expect("made for it");
        let is = &document.devices["CB1"].elements[0].is;
        assert!(is.rating_a().is_some_and(|a| a > 1.0));
        assert!(is.known().is_some_and(|it| it.origins().is_empty()));
    }

    #[test]
    fn an_origin_is_saved_compared_and_merged_with_its_value() {
        let base = document(PLAIN);
        let measured = measured(1.3);
        let saved = exchange::save(&measured);
        let opened = exchange::open(&saved).expect("it opens").document;
        assert!(opened == measured && exchange::save(&opened) == saved);
        let words = |was: &Document, is: &Document| -> Vec<String> {
            let all = compare::compare(was, is);
            all.iter().map(compare::Difference::words).collect()
        };
        let told = "wire A: length (m) is 1.3 (measured), was 1.0";
        assert_eq!(words(&base, &measured), [told]);
        let typed = touched(&measured, "A", |wire| wire.origins = Origins::default());
        assert_eq!(
            words(&measured, &typed),
            ["wire A: length (m) is typed, was measured"]
        );
        let origin = |it: &merge::Merged| it.document.wires["A"].origins.of("length_m");
        // Both sides gave a length: the origin is that of the one which stays.
        let other = touched(&base, "A", |wire| wire.length_m = Some(1.5));
        let mine = merge::merge(&base, &measured, &other).expect("one field differs");
        assert_eq!(
            (mine.conflicts.len(), origin(&mine)),
            (1, Some(ValueOrigin::Measured))
        );
        let theirs = merge::merge(&base, &other, &measured).expect("one field differs");
        assert_eq!((theirs.conflicts.len(), origin(&theirs)), (1, None));
        // Another field of the other side takes nothing away, and a new value loses the old origin.
        let red = touched(&base, "A", |wire| wire.colour = "red".into());
        let both = merge::merge(&base, &red, &measured).expect("no conflict");
        assert_eq!(
            (both.conflicts.len(), origin(&both)),
            (0, Some(ValueOrigin::Measured))
        );
        let later = touched(&measured, "A", |wire| wire.length_m = Some(2.0));
        let both = merge::merge(
            &measured,
            &touched(&measured, "A", |it| it.colour = "red".into()),
            &later,
        );
        assert_eq!(origin(&both.expect("no conflict")), None);
    }

    #[test]
    fn the_cut_list_has_a_column_of_origins_only_where_there_are_any() {
        let table = cuts::table(&measured(1.3));
        assert!(table.columns.iter().any(|it| it.key == "origin"));
        assert!(table.to_csv().contains("length measured"));
        assert!(
            table
                .rows
                .iter()
                .all(|row| row.len() == table.columns.len())
        );
        assert!(!cuts::table(&document(PLAIN)).to_csv().contains("origin"));
    }
}
