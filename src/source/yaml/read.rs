//! Typed values out of a tree: a serde deserializer that lets the type decide how a scalar is read, and that tells
//! all problems of a file instead of stopping at the first.

use std::cell::RefCell;

use serde::de::{Deserialize, Deserializer, Error as _, Visitor};

use super::access::{Items, Members, RawScalar, Variant, WithPlace};
use super::core_schema;
use super::diagnose::Line;
use super::flaw::{Flaw, QUOTED};
use super::given::{GIVEN, SCALAR, SPANNED, TEXT_OR_LIST};
use super::headed::Heading;
use super::structure::Structure;
use super::tree::{Kind, Node, Tree};
use crate::source::problem::tell;
use crate::source::{FileId, Place, Problem, Shape, SyntaxFault};

/// Reads a whole file as a `T`, and tells everything in it that does not fit.
///
/// Unknown keys of structures are told and left out; a broken [`Given`](super::Given) is told and marked; any other
/// broken value takes the next structure around it along, up to the next `Given`.
pub fn read_tree<'a, T: Deserialize<'a>>(
    tree: &'a Tree,
    file: FileId,
    source: &'a str,
) -> (Option<T>, Vec<Problem>) {
    read_node(tree.root(file, source))
}

/// Reads a part of a file as a `T`; see [`read_tree`].
pub fn read_node<'a, T: Deserialize<'a>>(node: Node<'a>) -> (Option<T>, Vec<Problem>) {
    let told = RefCell::new(Vec::new());
    let reader = Reader { node, key: None, above: None, told: &told };
    let value = match T::deserialize(reader) {
        Ok(value) => Some(value),
        Err(flaw) => {
            reader.tell(flaw);
            None
        }
    };
    (value, told.into_inner())
}

/// A value to be read, with the key it stands behind.
#[derive(Clone, Copy)]
pub(super) struct Reader<'a, 't> {
    pub(super) node: Node<'a>,
    pub(super) key: Option<Node<'a>>,
    /// A heading that was left out: of the members, those that belong below it are read.
    pub(super) above: Option<&'static Heading>,
    pub(super) told: &'t RefCell<Vec<Problem>>,
}

impl<'a> Reader<'a, '_> {
    pub(super) fn tell(self, flaw: Flaw) {
        if let Some(problem) = flaw.into_problem(self.spot()) {
            tell(&mut self.told.borrow_mut(), problem);
        }
    }

    /// Where a fault of the value shows: a scalar itself, the key of what is nothing or long, else the first line.
    pub(super) fn spot(self) -> Place {
        let place = self.node.place();
        let scalar = !matches!(self.node.slot().kind, Kind::Sequence | Kind::Mapping | Kind::Empty);
        match self.key {
            _ if scalar && place.start < place.end => place,
            Some(key) if key.place().start < key.place().end => key.place(),
            _ => {
                let text = self.node.source.get(place.start as usize..place.end as usize).unwrap_or("");
                let line = text.lines().next().unwrap_or("").trim_end();
                let length = u32::try_from(line.len()).unwrap_or(0);
                Place { end: place.start + length, ..place }
            }
        }
    }

    /// The place of the value, or of its key when it was left out.
    pub(super) fn place(self) -> Place {
        if matches!(self.node.slot().kind, Kind::Empty | Kind::Broken) {
            self.spot()
        } else {
            self.node.place()
        }
    }

    /// Reads the value with `read` and gives an error its place.
    pub(super) fn placed<T>(self, within: &'static str, read: Result<T, Flaw>) -> Result<T, Flaw> {
        read.map_err(|flaw| flaw.at(self.spot(), self.node.raw_text(), within))
    }

    pub(super) fn wrong_shape(self, expected: Shape) -> Flaw {
        if self.node.is_broken() {
            Flaw::told()
        } else if let Some(key) = self.key_before_a_bracket() {
            let line = Line::at(self.node.source, key.start as usize);
            let meant = (line.start == key.start as usize).then(|| line.with_colon(self.node.source));
            Flaw::syntax(key, SyntaxFault::KeyWithoutColon { meant: meant.flatten() })
        } else if let Some(comment) = self.comment_for_text().filter(|_| expected == Shape::Text) {
            Flaw::syntax(comment, SyntaxFault::Unquoted { by: '#', text: None })
        } else {
            Flaw::shape(self.spot(), expected, self.node.shape(), self.written())
        }
    }

    /// The comment that stands where the text of a key belongs and looks as if it were that: `name: #2`.
    fn comment_for_text(self) -> Option<Place> {
        let key = self.key.filter(|_| self.node.slot().kind == Kind::Empty)?.place();
        let behind = self.node.source.get(key.end as usize..)?;
        let line = behind.split(['\n', '\r']).next()?.trim_end();
        let comment = line.trim_start_matches([':', ' ']);
        let is_text = comment.strip_prefix('#')?.starts_with(char::is_alphanumeric);
        let end = key.end + u32::try_from(line.len()).ok()?;
        let start = end - u32::try_from(comment.len()).ok()?;
        is_text.then_some(Place { start, end, ..key })
    }

    /// Where no colon separates a key from its bracket, the key as it was meant: the first colon within the bracket then
    /// ends the key.
    fn key_before_a_bracket(self) -> Option<Place> {
        let key = self.key.filter(|key| key.is_plain())?;
        let length = key.raw_text().find(' ').filter(|at| {
            let behind = key.raw_text().get(*at..).unwrap_or("").trim_start();
            behind.starts_with(['{', '['])
        })?;
        let start = key.place().start;
        Some(Place { end: start + u32::try_from(length).unwrap_or(0), ..key.place() })
    }

    pub(super) fn expect(self, expected: Shape) -> Result<(), Flaw> {
        let sound = !self.node.is_broken() && self.node.shape() == expected;
        if sound { Ok(()) } else { Err(self.wrong_shape(expected)) }
    }

    pub(super) fn text(self) -> Result<&'a str, Flaw> {
        self.node.text().ok_or_else(|| self.wrong_shape(Shape::Text))
    }

    /// A whole number within bounds.
    pub(super) fn whole<N: TryFrom<i128>>(self, least: i128, most: i128) -> Result<N, Flaw> {
        let text = self.text()?;
        let fitting = core_schema::integer(text).and_then(|whole| N::try_from(whole).ok());
        let read = match fitting {
            Some(_) if !self.node.is_plain() => Err(Flaw::unfit(QUOTED)),
            Some(fitting) => Ok(fitting),
            None => Err(Flaw::unfit(format!("a whole number from {least} to {most}"))),
        };
        self.placed("", read)
    }

    pub(super) fn number(self) -> Result<f64, Flaw> {
        let text = self.text()?;
        let read = match core_schema::number(text) {
            Some(_) if !self.node.is_plain() => Err(Flaw::unfit(QUOTED)),
            Some(number) => Ok(number),
            None => Err(Flaw::unfit("a number")),
        };
        self.placed("", read)
    }
}

/// A method for each whole-number type.
macro_rules! whole {
    ($($method:ident $visit:ident $type:ty),* $(,)?) => {$(
        fn $method<V: Visitor<'a>>(self, visitor: V) -> Result<V::Value, Flaw> {
            let read = visitor.$visit(self.whole::<$type>(<$type>::MIN.into(), <$type>::MAX.into())?);
            self.placed("", read)
        }
    )*};
}

impl<'a, 't> Deserializer<'a> for Reader<'a, 't> {
    type Error = Flaw;

    whole!(
        deserialize_i8 visit_i8 i8, deserialize_i16 visit_i16 i16, deserialize_i32 visit_i32 i32,
        deserialize_i64 visit_i64 i64, deserialize_u8 visit_u8 u8, deserialize_u16 visit_u16 u16,
        deserialize_u32 visit_u32 u32, deserialize_u64 visit_u64 u64,
    );

    /// What asks for nothing special gets what YAML's core schema says.
    fn deserialize_any<V: Visitor<'a>>(self, visitor: V) -> Result<V::Value, Flaw> {
        let read = match self.node.slot().kind {
            Kind::Broken => Err(Flaw::told()),
            Kind::Empty => visitor.visit_unit(),
            Kind::Quoted | Kind::Block => visitor.visit_borrowed_str(self.node.raw_text()),
            Kind::Sequence => return self.deserialize_seq(visitor),
            Kind::Mapping => return self.deserialize_map(visitor),
            Kind::Plain => match self.node.to_json() {
                serde_json::Value::Null => visitor.visit_unit(),
                serde_json::Value::Bool(boolean) => visitor.visit_bool(boolean),
                serde_json::Value::Number(number) => number.deserialize_any(visitor).map_err(Flaw::custom),
                serde_json::Value::String(_) | serde_json::Value::Array(_) | serde_json::Value::Object(_) => {
                    visitor.visit_borrowed_str(self.node.raw_text())
                }
            },
        };
        self.placed("", read)
    }

    fn deserialize_bool<V: Visitor<'a>>(self, visitor: V) -> Result<V::Value, Flaw> {
        let text = self.text()?;
        let boolean = self.node.is_plain().then(|| core_schema::boolean(text)).flatten();
        let read =
            boolean.ok_or_else(|| Flaw::unfit("`true` or `false`")).and_then(|it| visitor.visit_bool(it));
        self.placed("", read)
    }

    fn deserialize_f32<V: Visitor<'a>>(self, visitor: V) -> Result<V::Value, Flaw> {
        self.deserialize_f64(visitor)
    }

    fn deserialize_f64<V: Visitor<'a>>(self, visitor: V) -> Result<V::Value, Flaw> {
        let read = visitor.visit_f64(self.number()?);
        self.placed("", read)
    }

    fn deserialize_str<V: Visitor<'a>>(self, visitor: V) -> Result<V::Value, Flaw> {
        let read = visitor.visit_borrowed_str(self.text()?);
        self.placed("", read)
    }

    fn deserialize_string<V: Visitor<'a>>(self, visitor: V) -> Result<V::Value, Flaw> {
        self.deserialize_str(visitor)
    }

    fn deserialize_char<V: Visitor<'a>>(self, visitor: V) -> Result<V::Value, Flaw> {
        self.deserialize_str(visitor)
    }

    /// A key, which is text whatever it looks like.
    fn deserialize_identifier<V: Visitor<'a>>(self, visitor: V) -> Result<V::Value, Flaw> {
        visitor.visit_borrowed_str(self.node.raw_text())
    }

    fn deserialize_option<V: Visitor<'a>>(self, visitor: V) -> Result<V::Value, Flaw> {
        match self.node.shape() {
            Shape::Nothing if self.node.is_broken() => Err(Flaw::told()),
            Shape::Nothing => visitor.visit_none(),
            Shape::Text | Shape::Sequence | Shape::Mapping => visitor.visit_some(self),
        }
    }

    fn deserialize_unit<V: Visitor<'a>>(self, visitor: V) -> Result<V::Value, Flaw> {
        self.expect(Shape::Nothing)?;
        visitor.visit_unit()
    }

    fn deserialize_unit_struct<V: Visitor<'a>>(self, _: &'static str, visitor: V) -> Result<V::Value, Flaw> {
        self.deserialize_unit(visitor)
    }

    fn deserialize_newtype_struct<V: Visitor<'a>>(
        self,
        name: &'static str,
        visitor: V,
    ) -> Result<V::Value, Flaw> {
        match name {
            GIVEN | SPANNED => visitor.visit_seq(WithPlace { reader: self, next: 0 }),
            SCALAR => {
                let text = self.text()?;
                visitor.visit_seq(RawScalar { plain: Some(self.node.is_plain()), text: Some(text) })
            }
            TEXT_OR_LIST if self.node.shape() == Shape::Sequence => self.deserialize_seq(visitor),
            TEXT_OR_LIST => self.deserialize_str(visitor),
            _ => {
                let read = visitor.visit_newtype_struct(self);
                self.placed("", read)
            }
        }
    }

    fn deserialize_seq<V: Visitor<'a>>(self, visitor: V) -> Result<V::Value, Flaw> {
        self.expect(Shape::Sequence)?;
        let read = visitor.visit_seq(Items { reader: self, items: self.node.items() });
        self.placed("", read)
    }

    fn deserialize_tuple<V: Visitor<'a>>(self, length: usize, visitor: V) -> Result<V::Value, Flaw> {
        self.expect(Shape::Sequence)?;
        if self.node.items().count() != length {
            return self.placed("", Err(Flaw::unfit(format!("a list of {length}"))));
        }
        self.deserialize_seq(visitor)
    }

    fn deserialize_tuple_struct<V: Visitor<'a>>(
        self,
        _: &'static str,
        length: usize,
        visitor: V,
    ) -> Result<V::Value, Flaw> {
        self.deserialize_tuple(length, visitor)
    }

    fn deserialize_map<V: Visitor<'a>>(self, visitor: V) -> Result<V::Value, Flaw> {
        self.expect(Shape::Mapping)?;
        let read = match self.above {
            Some(heading) => visitor.visit_map(Members::below(self, heading)),
            None => visitor.visit_map(Members::new(self, None)),
        };
        self.placed("", read)
    }

    fn deserialize_struct<V: Visitor<'a>>(
        self,
        name: &'static str,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Flaw> {
        self.expect(Shape::Mapping)?;
        if let Some(flaw) = self.list_in_braces(fields) {
            return Err(flaw);
        }
        let read = visitor.visit_map(Members::new(self, Some(Structure::new(name, fields))));
        self.placed(name, read)
    }

    fn deserialize_enum<V: Visitor<'a>>(
        self,
        of: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Flaw> {
        let mut entries = self.node.entries();
        let read = match (self.node.shape(), entries.next(), entries.next()) {
            (Shape::Mapping, Some((key, value)), None) => visitor.visit_enum(Variant {
                of,
                name: Reader { node: key, key: None, ..self },
                value: Some(Reader { node: value, key: Some(key), ..self }),
            }),
            (Shape::Mapping, ..) => Err(Flaw::unfit("one key with its value")),
            _ => {
                self.text()?;
                visitor.visit_enum(Variant { of, name: self, value: None })
            }
        };
        self.placed("", read)
    }

    fn deserialize_ignored_any<V: Visitor<'a>>(self, visitor: V) -> Result<V::Value, Flaw> {
        visitor.visit_unit()
    }

    serde::forward_to_deserialize_any! { <V: Visitor<'a>> i128 u128 bytes byte_buf }
}
