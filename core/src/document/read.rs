//! Reads records from a JSON tree and reports the place of an error. All records are read from this
//! one kind of source.
//!
//! `serde_path_to_error` around serde_json's own tree says the same in a tenth of the lines, and was tried: it wraps every
//! visitor of every record again, which is 24 KB of brotli more (1,147 against 1,123). The download is over its budget.

use std::{cell::RefCell, fmt};

use serde::de::{
    Deserialize, DeserializeOwned, DeserializeSeed, Deserializer, EnumAccess, Error, Expected,
    MapAccess, SeqAccess, Unexpected, VariantAccess, Visitor, value::BorrowedStrDeserializer,
};
use serde_json::{Number, Value, map};

use super::invariants::FieldPath;

/// A tree that does not match the record's layout.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{path}: {why}")]
pub struct Fault {
    /// The field: `wires.w12.gauge_awg`; `.` for the record itself.
    pub path: String,
    /// What was found and what was expected, in serde's words.
    pub why: String,
}

/// Reads a record.
///
/// # Errors
/// [`Fault`] with the first field that is wrong, fields in byte order.
pub fn read<'t, T: Deserialize<'t>>(tree: &'t Value) -> Result<T, Fault> {
    let place = RefCell::new(None);
    let top = Node {
        tree,
        at: FieldPath::TOP,
        place: &place,
    };
    T::deserialize(top).map_err(|wrong| Fault {
        path: place.take().unwrap_or_else(|| FieldPath::TOP.to_string()),
        why: wrong.0.into(),
    })
}

/// Reads a record from text; `None` if it is invalid.
pub fn read_text<T: DeserializeOwned>(text: &str) -> Option<T> {
    let tree: Value = serde_json::from_slice(text.as_bytes()).ok()?;
    read(&tree).ok()
}

/// The error; the nodes it passes on its way up record the place.
#[derive(Debug)]
struct Wrong(Box<str>);

impl fmt::Display for Wrong {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

impl std::error::Error for Wrong {}

impl Error for Wrong {
    fn custom<T: fmt::Display>(why: T) -> Self {
        Self(why.to_string().into())
    }
}

/// One value during reading.
#[derive(Clone, Copy)]
struct Node<'t, 'a> {
    tree: &'t Value,
    at: FieldPath<'a>,
    /// The place of the error, once there is one.
    place: &'a RefCell<Option<String>>,
}

impl<'t> Node<'t, '_> {
    /// Reads this value; compiled once for every type. The first place that an error passes is the
    /// innermost one.
    #[inline(never)]
    fn read<S: DeserializeSeed<'t>>(self, seed: S) -> Result<S::Value, Wrong> {
        let value = seed.deserialize(self);
        if value.is_err() {
            self.note();
        }
        value
    }

    #[inline(never)]
    fn note(self) {
        let mut place = self.place.borrow_mut();
        place.get_or_insert_with(|| self.at.to_string());
    }

    /// An unexpected value.
    #[inline(never)]
    fn other(self, expected: &dyn Expected) -> Wrong {
        let found = match self.tree {
            Value::Null => Unexpected::Other("null"),
            Value::Bool(it) => Unexpected::Bool(*it),
            Value::Number(number) => match (number.as_u64(), number.as_i64()) {
                (Some(it), _) => Unexpected::Unsigned(it),
                (_, Some(it)) => Unexpected::Signed(it),
                _ => Unexpected::Float(float(number)),
            },
            Value::String(it) => Unexpected::Str(it),
            Value::Array(_) => Unexpected::Seq,
            Value::Object(_) => Unexpected::Map,
        };
        Wrong::invalid_type(found, expected)
    }
}

fn float(number: &Number) -> f64 {
    // Always present without serde_json's arbitrary-precision feature.
    number.as_f64().unwrap_or(f64::NAN)
}

/// Forwards several requests in the same way.
macro_rules! same {
    ($([$($name:ident)*] as $other:ident;)*) => {$($(
        fn $name<V: Visitor<'t>>(self, visitor: V) -> Result<V::Value, Wrong> {
            self.$other(visitor)
        }
    )*)*};
}

/// One visitor method for each value type of a record. Any other type is reported as an error here,
/// so that the records need no code for it.
impl<'t> Deserializer<'t> for Node<'t, '_> {
    type Error = Wrong;

    fn deserialize_any<V: Visitor<'t>>(self, visitor: V) -> Result<V::Value, Wrong> {
        match self.tree {
            Value::Null => visitor.visit_unit(),
            Value::Bool(it) => visitor.visit_bool(*it),
            Value::Number(_) => self.deserialize_i64(visitor),
            Value::String(it) => visitor.visit_borrowed_str(it),
            Value::Array(_) => self.deserialize_seq(visitor),
            Value::Object(_) => self.deserialize_map(visitor),
        }
    }

    fn deserialize_bool<V: Visitor<'t>>(self, visitor: V) -> Result<V::Value, Wrong> {
        match self.tree {
            Value::Bool(it) => visitor.visit_bool(*it),
            _ => Err(self.other(&visitor)),
        }
    }

    fn deserialize_i64<V: Visitor<'t>>(self, visitor: V) -> Result<V::Value, Wrong> {
        let Value::Number(number) = self.tree else {
            return Err(self.other(&visitor));
        };
        match (number.as_u64(), number.as_i64()) {
            (Some(it), _) => visitor.visit_u64(it),
            (_, Some(it)) => visitor.visit_i64(it),
            _ => visitor.visit_f64(float(number)),
        }
    }

    fn deserialize_f64<V: Visitor<'t>>(self, visitor: V) -> Result<V::Value, Wrong> {
        match self.tree {
            Value::Number(number) => visitor.visit_f64(float(number)),
            _ => Err(self.other(&visitor)),
        }
    }

    fn deserialize_str<V: Visitor<'t>>(self, visitor: V) -> Result<V::Value, Wrong> {
        match self.tree {
            Value::String(it) => visitor.visit_borrowed_str(it),
            _ => Err(self.other(&visitor)),
        }
    }

    fn deserialize_option<V: Visitor<'t>>(self, visitor: V) -> Result<V::Value, Wrong> {
        match self.tree {
            Value::Null => visitor.visit_none(),
            _ => visitor.visit_some(self),
        }
    }

    fn deserialize_newtype_struct<V: Visitor<'t>>(
        self,
        _: &'static str,
        visitor: V,
    ) -> Result<V::Value, Wrong> {
        visitor.visit_newtype_struct(self)
    }

    fn deserialize_seq<V: Visitor<'t>>(self, visitor: V) -> Result<V::Value, Wrong> {
        let Value::Array(list) = self.tree else {
            return Err(self.other(&visitor));
        };
        let mut items = Items {
            node: self,
            list,
            next: 0,
        };
        let value = visitor.visit_seq(&mut items)?;
        if items.next < list.len() {
            return Err(Wrong::invalid_length(list.len(), &"fewer entries"));
        }
        Ok(value)
    }

    fn deserialize_tuple<V: Visitor<'t>>(self, _: usize, visitor: V) -> Result<V::Value, Wrong> {
        self.deserialize_seq(visitor)
    }

    fn deserialize_map<V: Visitor<'t>>(self, visitor: V) -> Result<V::Value, Wrong> {
        match self.tree {
            Value::Object(object) => visitor.visit_map(Fields {
                node: self,
                rest: object.iter(),
                value: None,
            }),
            _ => Err(self.other(&visitor)),
        }
    }

    fn deserialize_struct<V: Visitor<'t>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Wrong> {
        self.deserialize_map(visitor)
    }

    fn deserialize_enum<V: Visitor<'t>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Wrong> {
        let (name, body) = match self.tree {
            Value::String(name) => (name, None),
            Value::Object(object) if object.len() == 1 => {
                let (name, body) = object.iter().next().expect("one, as just counted");
                (name, Some(body))
            }
            _ => return Err(self.other(&"a text, or an object with one field")),
        };
        let at = self.at.field(name);
        let body = body.map(|tree| Node { tree, at, ..self });
        visitor.visit_enum(Variant { name, body })
    }

    same! {
        [deserialize_i8 deserialize_i16 deserialize_i32 deserialize_u8 deserialize_u16
         deserialize_u32 deserialize_u64] as deserialize_i64;
        [deserialize_f32] as deserialize_f64;
        [deserialize_string deserialize_identifier] as deserialize_str;
    }

    serde::forward_to_deserialize_any! {
        <V: Visitor<'t>>
        char bytes byte_buf unit unit_struct tuple_struct ignored_any
    }
}

/// The entries of a list.
struct Items<'t, 'a> {
    node: Node<'t, 'a>,
    list: &'t [Value],
    next: usize,
}

impl<'t> SeqAccess<'t> for &mut Items<'t, '_> {
    type Error = Wrong;

    fn next_element_seed<S: DeserializeSeed<'t>>(
        &mut self,
        seed: S,
    ) -> Result<Option<S::Value>, Wrong> {
        let Some(tree) = self.list.get(self.next) else {
            return Ok(None);
        };
        let at = self.node.at.index(self.next);
        self.next += 1;
        Node {
            tree,
            at,
            ..self.node
        }
        .read(seed)
        .map(Some)
    }
}

/// The fields of an object.
struct Fields<'t, 'a> {
    node: Node<'t, 'a>,
    rest: map::Iter<'t>,
    /// The value of the last key.
    value: Option<(&'t str, &'t Value)>,
}

impl<'t> MapAccess<'t> for Fields<'t, '_> {
    type Error = Wrong;

    fn next_key_seed<S: DeserializeSeed<'t>>(
        &mut self,
        seed: S,
    ) -> Result<Option<S::Value>, Wrong> {
        let Some((name, tree)) = self.rest.next() else {
            return Ok(None);
        };
        self.value = Some((name, tree));
        let key = BorrowedStrDeserializer::new(name);
        seed.deserialize(key).map(Some)
    }

    fn next_value_seed<S: DeserializeSeed<'t>>(&mut self, seed: S) -> Result<S::Value, Wrong> {
        let Some((name, tree)) = self.value.take() else {
            return Err(Wrong::custom("a value without a name"));
        };
        let at = self.node.at.field(name);
        Node {
            tree,
            at,
            ..self.node
        }
        .read(seed)
    }
}

/// An enum variant: its name, and its content if it has one.
struct Variant<'t, 'a> {
    name: &'t str,
    body: Option<Node<'t, 'a>>,
}

impl<'t, 'a> EnumAccess<'t> for Variant<'t, 'a> {
    type Error = Wrong;
    type Variant = Body<'t, 'a>;

    fn variant_seed<S: DeserializeSeed<'t>>(
        self,
        seed: S,
    ) -> Result<(S::Value, Self::Variant), Wrong> {
        let kind = seed.deserialize(BorrowedStrDeserializer::new(self.name))?;
        Ok((kind, Body(self.body)))
    }
}

/// The content of an enum variant.
struct Body<'t, 'a>(Option<Node<'t, 'a>>);

impl<'t, 'a> Body<'t, 'a> {
    fn some(self) -> Result<Node<'t, 'a>, Wrong> {
        let none = || Wrong::invalid_type(Unexpected::UnitVariant, &"an object");
        self.0.ok_or_else(none)
    }
}

impl<'t> VariantAccess<'t> for Body<'t, '_> {
    type Error = Wrong;

    fn unit_variant(self) -> Result<(), Wrong> {
        match self.0 {
            Some(node) if !node.tree.is_null() => {
                node.note();
                Err(node.other(&"null"))
            }
            _ => Ok(()),
        }
    }

    fn newtype_variant_seed<S: DeserializeSeed<'t>>(self, seed: S) -> Result<S::Value, Wrong> {
        self.some()?.read(seed)
    }

    fn tuple_variant<V: Visitor<'t>>(self, _: usize, visitor: V) -> Result<V::Value, Wrong> {
        self.some()?.deserialize_seq(visitor)
    }

    fn struct_variant<V: Visitor<'t>>(
        self,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Wrong> {
        let node = self.some()?;
        let value = node.deserialize_map(visitor);
        if value.is_err() {
            node.note();
        }
        value
    }
}
