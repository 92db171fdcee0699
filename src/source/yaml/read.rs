//! Typed values out of a tree: a serde deserializer that lets the type decide how a scalar is read, and that tells
//! all problems of a file instead of stopping at the first.

use std::cell::RefCell;

use serde::de::{Deserialize, Deserializer, Error as _, Visitor};

use super::access::{Items, Members, RawScalar, Structure, Variant, WithPlace};
use super::core_schema;
use super::flaw::Flaw;
use super::given::{GIVEN, SCALAR, SPANNED};
use super::tree::{Kind, Node, Tree};
use crate::source::problem::tell;
use crate::source::{FileId, Place, Problem, Shape};

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
    let reader = Reader { node, key: None, told: &told };
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
        } else {
            Flaw::shape(self.spot(), expected, self.node.shape())
        }
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
        let whole = self.node.is_plain().then(|| core_schema::integer(text)).flatten();
        let fitting = whole.and_then(|whole| N::try_from(whole).ok());
        self.placed("", fitting.ok_or_else(|| Flaw::unfit(format!("a whole number from {least} to {most}"))))
    }

    pub(super) fn number(self) -> Result<f64, Flaw> {
        let text = self.text()?;
        let number = self.node.is_plain().then(|| core_schema::number(text)).flatten();
        self.placed("", number.ok_or_else(|| Flaw::unfit("a number")))
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
        let read = visitor.visit_map(Members::new(self, None));
        self.placed("", read)
    }

    fn deserialize_struct<V: Visitor<'a>>(
        self,
        name: &'static str,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Flaw> {
        self.expect(Shape::Mapping)?;
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

#[cfg(test)]
mod tests {
    use super::super::{Entries, Given, Scalar};
    use super::*;
    use crate::source::{Limits, Spanned, parse};
    use std::collections::BTreeMap;

    #[derive(Debug, Default, serde::Deserialize)]
    #[serde(rename = "thing", default)]
    struct Thing {
        name: Given<String>,
        dpt: Given<Scalar>,
        small: Given<u8>,
        signed: Given<i32>,
        real: Given<f64>,
        flag: Given<bool>,
        word: Given<Word>,
        list: Given<Vec<Spanned<String>>>,
        pair: Given<[f64; 2]>,
        strict: Given<Strict>,
        things: Given<Entries<Thing>>,
        maybe: Option<u16>,
        numbers: Given<BTreeMap<u16, bool>>,
        shape: Given<Choice>,
        any: Given<serde_json::Value>,
    }

    #[derive(Debug, serde::Deserialize)]
    #[serde(rename_all = "kebab-case")]
    enum Word {
        FirstOne,
        Second,
    }

    #[derive(Debug, serde::Deserialize)]
    #[serde(rename = "strict thing")]
    #[allow(dead_code, reason = "only what is read of it matters")]
    struct Strict {
        must: u8,
        also: String,
    }

    #[derive(Debug, serde::Deserialize)]
    #[serde(rename_all = "kebab-case")]
    #[allow(dead_code, reason = "only what is read of it matters")]
    enum Choice {
        Same,
        Scale(Vec<f64>),
        Table { from: u8 },
    }

    /// Reads a [`Thing`] and compares its debug form, without places and what is absent, and each problem with the
    /// text of its place.
    fn check(source: &str, expected: &str, problems: &[&str]) {
        let (tree, told) = parse(source, FileId(0), &Limits::default());
        assert_eq!(told, [], "{source}");
        let tree = tree.expect("sound YAML");
        let (thing, told) = read_tree::<Thing>(&tree, FileId(0), source);
        let shown: Vec<String> = told
            .iter()
            .map(|problem| {
                let place = problem.place();
                let text = &source[place.start as usize..place.end as usize];
                match problem {
                    Problem::UnknownKey { within, .. } => format!("{text}: not of {within}"),
                    Problem::MissingKey { key, within, .. } => format!("{text}: no {key} of {within}"),
                    Problem::WrongShape { expected, found, .. } => {
                        format!("{text}: {found:?} for {expected:?}")
                    }
                    Problem::UnknownWord { allowed, .. } => format!("{text}: none of {}", allowed.join(" ")),
                    Problem::Unfit { expected, .. } => format!("{text}: not {expected}"),
                    other => format!("{text}: {other:?}"),
                }
            })
            .collect();
        assert_eq!(shown, problems, "{source}");
        assert_eq!(thing.map_or("nothing".to_owned(), |thing| show(&thing)), expected, "{source}");
    }

    fn show(thing: &Thing) -> String {
        fn one<T>(name: &str, given: &Given<T>, show: impl Fn(&T) -> String) -> Option<String> {
            match given {
                Given::Absent => None,
                Given::Broken(_) => Some(format!("{name} broken")),
                Given::Here(value) => Some(format!("{name}={}", show(value))),
            }
        }
        let debug = |value: &dyn std::fmt::Debug| format!("{value:?}");
        let parts = [
            one("name", &thing.name, |it| debug(it)),
            one("dpt", &thing.dpt, |it| format!("{}{}", it.text, if it.plain { "" } else { " quoted" })),
            one("small", &thing.small, |it| debug(it)),
            one("signed", &thing.signed, |it| debug(it)),
            one("real", &thing.real, |it| debug(it)),
            one("flag", &thing.flag, |it| debug(it)),
            one("word", &thing.word, |it| debug(it)),
            one("list", &thing.list, |it| debug(&it.iter().map(|text| &text.value).collect::<Vec<_>>())),
            one("pair", &thing.pair, |it| debug(it)),
            one("strict", &thing.strict, |it| debug(it)),
            one("things", &thing.things, |it| {
                let shown = |(key, value): &(Spanned<String>, Given<Thing>)| {
                    one(&key.value, value, |it| format!("({})", show(it))).unwrap_or_default()
                };
                it.0.iter().map(shown).collect::<Vec<_>>().join(" ")
            }),
            thing.maybe.map(|maybe| format!("maybe={maybe}")),
            one("numbers", &thing.numbers, |it| debug(it)),
            one("shape", &thing.shape, |it| debug(it)),
            one("any", &thing.any, |it| it.to_string()),
        ];
        parts.into_iter().flatten().collect::<Vec<_>>().join(" ")
    }

    #[test]
    fn the_type_decides_how_a_scalar_is_read() {
        check("name: 5.010\ndpt: 5.010\nreal: 5.010\n", "name=\"5.010\" dpt=5.010 real=5.01", &[]);
        check("name: on\ndpt: '1/2/3'\nflag: true\n", "name=\"on\" dpt=1/2/3 quoted flag=true", &[]);
        check("small: 0x1F\nsigned: -12\nreal: 1e3\n", "small=31 signed=-12 real=1000.0", &[]);
        check(
            "small: 5.0\nsigned: +7\nreal: .5\nword: first-one\n",
            "small=5 signed=7 real=0.5 word=FirstOne",
            &[],
        );
        check("maybe:\nname: 'null'\n", "name=\"null\"", &[]);
        check(
            "maybe: 12\npair: [1, 2.5]\nlist: [a, 1]\n",
            "list=[\"a\", \"1\"] pair=[1.0, 2.5] maybe=12",
            &[],
        );
        check("numbers: { 1: true, 0x10: false }\n", "numbers={1: true, 16: false}", &[]);
        check("any: { a: 5.010, b: 05, c: [~, x] }\n", r#"any={"a":5.01,"b":"05","c":[null,"x"]}"#, &[]);
        check("shape: same\n", "shape=Same", &[]);
        check("shape: { scale: [1, 2] }\n", "shape=Scale([1.0, 2.0])", &[]);
        check("shape: { table: { from: 3 } }\n", "shape=Table { from: 3 }", &[]);
    }

    #[test]
    fn what_does_not_fit_is_told_and_the_rest_is_read() {
        check(
            "small: 05\nsigned: 1.5\nreal: x\nflag: on\nword: third\nname: n\n",
            "name=\"n\" small broken signed broken real broken flag broken word broken",
            &[
                "05: not a whole number from 0 to 255",
                "1.5: not a whole number from -2147483648 to 2147483647",
                "x: not a number",
                "on: not `true` or `false`",
                "third: none of first-one second",
            ],
        );
        check("small: '5'\n", "small broken", &["'5': not a whole number from 0 to 255"]);
        check("small: 256\n", "small broken", &["256: not a whole number from 0 to 255"]);
        check("pair: [1]\n", "pair broken", &["pair: not a list of 2"]);
        check("shape: { scale: [1], same: }\n", "shape broken", &["shape: not one key with its value"]);
        check("shape: { table: { from: 3, to: 4 } }\n", "shape=Table { from: 3 }", &["to: not of Choice"]);
    }

    #[test]
    fn wrong_shapes_show_at_the_value_or_at_its_key() {
        check("name: [a]\n", "name broken", &["name: Sequence for Text"]);
        check(
            "name:\nlist: x\n",
            "name broken list broken",
            &["name: Nothing for Text", "x: Text for Sequence"],
        );
        check("things: [a]\n", "things broken", &["things: Sequence for Mapping"]);
        check("- a\n", "nothing", &["- a: Sequence for Mapping"]);
        check("# nothing\n", "nothing", &[": Nothing for Mapping"]);
    }

    #[test]
    fn keys_are_looked_at_one_by_one() {
        check(
            "nam: x\nthings:\n  one: { small: 1, smal: 2 }\n  two: 7\n  three: { strict: { must: 1 } }\nname: n\n",
            "name=\"n\" things=one=(small=1) two broken three=(strict broken)",
            &[
                "nam: not of thing",
                "smal: not of thing",
                "7: Text for Mapping",
                "strict: no also of strict thing",
            ],
        );
        // A key of a mapping is text, whatever it looks like.
        check(
            "things: { null: { name: a }, 1: { name: b } }\n",
            "things=null=(name=\"a\") 1=(name=\"b\")",
            &[],
        );
    }

    #[test]
    fn aliases_stand_for_what_they_name() {
        check("things: { a: &a { name: x }, b: *a }\n", "things=a=(name=\"x\") b=(name=\"x\")", &[]);
    }
}
