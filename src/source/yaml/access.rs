//! How the reader hands out the parts of a value: items, members, keys, words, places.

use serde::de::value::{BorrowedStrDeserializer, StrDeserializer};
use serde::de::{
    DeserializeSeed, Deserializer, EnumAccess, Error as _, IntoDeserializer, MapAccess, SeqAccess,
    VariantAccess, Visitor,
};

use super::core_schema;
use super::flaw::Flaw;
use super::fused;
use super::given::{GIVEN, MOST_FORESEEN, SPANNED};
use super::headed::Heading;
use super::parted::Parts;
use super::read::Reader;
use super::structure::Structure;
use super::tree::Node;
use super::written;
use crate::source::problem::tell;
use crate::source::{Problem, Shape};

/// `file, start, end, value`. A value that cannot be read is told here, so that the taker may go on.
pub(super) struct WithPlace<'a, 't> {
    pub(super) reader: Reader<'a, 't>,
    pub(super) next: u8,
}

impl<'a> SeqAccess<'a> for WithPlace<'a, '_> {
    type Error = Flaw;

    fn next_element_seed<S: DeserializeSeed<'a>>(&mut self, seed: S) -> Result<Option<S::Value>, Flaw> {
        let place = self.reader.place();
        let number = match self.next {
            0 => place.file.0,
            1 => place.start,
            2 => place.end,
            _ => {
                let read = self.reader.placed("", seed.deserialize(self.reader));
                return read.map(Some).map_err(|flaw| {
                    self.reader.tell(flaw);
                    Flaw::told()
                });
            }
        };
        self.next += 1;
        seed.deserialize(number.into_deserializer()).map(Some)
    }
}

/// `plain, text`.
pub(super) struct RawScalar<'a> {
    pub(super) plain: Option<bool>,
    pub(super) text: Option<&'a str>,
}

impl<'a> SeqAccess<'a> for RawScalar<'a> {
    type Error = Flaw;

    fn next_element_seed<S: DeserializeSeed<'a>>(&mut self, seed: S) -> Result<Option<S::Value>, Flaw> {
        if let Some(plain) = self.plain.take() {
            return seed.deserialize(plain.into_deserializer()).map(Some);
        }
        self.text.take().map(|text| seed.deserialize(BorrowedStrDeserializer::new(text))).transpose()
    }
}

pub(super) struct Items<'a, 't, I> {
    pub(super) reader: Reader<'a, 't>,
    pub(super) items: I,
}

impl<'a, I: Iterator<Item = Node<'a>>> SeqAccess<'a> for Items<'a, '_, I> {
    type Error = Flaw;

    fn next_element_seed<S: DeserializeSeed<'a>>(&mut self, seed: S) -> Result<Option<S::Value>, Flaw> {
        let Some(node) = self.items.next() else { return Ok(None) };
        let reader = Reader { node, key: None, ..self.reader };
        reader.placed("", seed.deserialize(reader)).map(Some)
    }
}

/// Keys and values; of a structure only those it knows.
pub(super) struct Members<'a, 't, I> {
    reader: Reader<'a, 't>,
    entries: I,
    structure: Option<Structure>,
    value: Option<Reader<'a, 't>>,
    parts: Parts,
    /// A heading that was left out, until what belongs below it is read.
    left_out: Option<&'static Heading>,
}

impl<'a, 't> Members<'a, 't, ()> {
    #[allow(clippy::new_ret_no_self, reason = "the iterator has no name that could be written")]
    pub(super) fn new(
        reader: Reader<'a, 't>,
        structure: Option<Structure>,
    ) -> Members<'a, 't, impl Iterator<Item = (Node<'a>, Node<'a>)>> {
        Self::with(reader, reader.node.entries(), structure)
    }

    /// Those members of a structure that belong below a heading.
    pub(super) fn below(
        reader: Reader<'a, 't>,
        heading: &'static Heading,
    ) -> Members<'a, 't, impl Iterator<Item = (Node<'a>, Node<'a>)>> {
        let entries = reader.node.entries().filter(|(_, value)| heading.is_above(*value));
        Self::with(Reader { above: None, ..reader }, entries, None)
    }

    fn with<I>(reader: Reader<'a, 't>, entries: I, structure: Option<Structure>) -> Members<'a, 't, I> {
        Members { reader, entries, structure, value: None, parts: Parts::default(), left_out: None }
    }
}

impl<'a, 't, I> Members<'a, 't, I> {
    /// A member that means nothing here and belongs below a heading that was left out: the heading is told once, and they
    /// are read as what they were meant to be.
    fn is_headless(&mut self, key: Node<'a>, value: Node<'a>) -> bool {
        let (node, Some(structure)) = (self.reader.node, self.structure.as_mut()) else { return false };
        let Some(heading) = Heading::of(structure.name, value) else { return false };
        if self.left_out.is_none() {
            if !structure.missing(node).contains(&heading.key) {
                return false;
            }
            self.left_out = Some(heading);
            let count = node.entries().filter(|(_, value)| heading.is_above(*value)).count();
            let (place, first) = (key.place(), key.raw_text().to_owned());
            let in_braces = node.source.as_bytes().get(node.place().start as usize) == Some(&b'{');
            let problem = Problem::HeadingLeftOut { place, heading: heading.key, first, count, in_braces };
            tell(&mut self.reader.told.borrow_mut(), problem);
        }
        true
    }

    /// The heading that was left out, and all that belongs below it.
    fn left_out(&mut self) -> Option<(&'static str, Reader<'a, 't>)> {
        let heading = self.left_out.take()?;
        self.structure.as_mut()?.see(heading.key);
        Some((heading.key, Reader { above: Some(heading), ..self.reader }))
    }

    /// In a structure with a hole, a key that is missing may have stood there: it is broken, not absent.
    fn lost(&mut self) -> Option<(&'static str, Reader<'a, 't>)> {
        if !self.reader.node.slot().has_hole {
            return None;
        }
        let (field, (key, node)) = match self.reader.node.entries().find(|(_, value)| value.is_broken()) {
            Some(hole) => (self.structure.as_mut()?.unseen()?, hole),
            None => self.meant_by_double()?,
        };
        Some((field, Reader { node, key: Some(key), ..self.reader }))
    }

    /// A key that is missing while the one that goes with it stands twice, and the second of the two.
    fn meant_by_double(&mut self) -> Option<(&'static str, (Node<'a>, Node<'a>))> {
        let structure = self.structure.as_mut()?;
        let (missing, beside) = structure.missing_beside()?;
        let double = self.reader.node.doubles().find(|(key, _)| key.raw_text() == beside)?;
        structure.see(missing);
        Some((missing, double))
    }

    /// A key that is written together with its value and means something here: it is told, and read as it was meant.
    fn fused(&mut self, key: Node<'a>, value: Node<'a>) -> Option<(&'static str, Reader<'a, 't>)> {
        let fused = fused::split(key, value)?;
        let field = self.structure.as_mut()?.take(fused.key, self.reader.node)?;
        tell(&mut self.reader.told.borrow_mut(), fused.problem());
        Some((field, Reader { node: fused.value, key: Some(key), ..self.reader }))
    }
}

impl<'a, I: Iterator<Item = (Node<'a>, Node<'a>)>> MapAccess<'a> for Members<'a, '_, I> {
    type Error = Flaw;

    fn next_key_seed<S: DeserializeSeed<'a>>(&mut self, seed: S) -> Result<Option<S::Value>, Flaw> {
        while let Some((key, value)) = self.entries.next() {
            let name = key.raw_text();
            let fields = self.structure.as_ref().map(|structure| structure.fields);
            if self.parts.take(key, value, self.reader, fields) {
                continue;
            }
            let is_known = self.structure.as_mut().is_none_or(|structure| structure.see(name));
            if let Some((field, value)) = (!is_known).then(|| self.fused(key, value)).flatten() {
                self.value = Some(value);
                return seed.deserialize(BorrowedStrDeserializer::new(field)).map(Some);
            }
            if !is_known && self.is_headless(key, value) {
                continue;
            }
            if let Some(structure) = self.structure.as_mut().filter(|_| !is_known) {
                let (allowed, within) = (structure.fields, structure.name);
                if !value.is_broken() {
                    let missing = structure.missing(self.reader.node);
                    let below = Heading::of(within, value).map(|heading| heading.key);
                    let (place, key, value) = (key.place(), name.to_owned(), written::text(value));
                    let problem = Problem::UnknownKey { place, key, value, allowed, missing, within, below };
                    tell(&mut self.reader.told.borrow_mut(), problem);
                }
                continue;
            }
            self.value = Some(Reader { node: value, key: Some(key), ..self.reader });
            let reader = KeyReader(Reader { node: key, key: None, ..self.reader });
            return reader.0.placed("", seed.deserialize(reader)).map(Some);
        }
        let Some((field, value)) = self.left_out().or_else(|| self.lost()) else { return Ok(None) };
        self.value = Some(value);
        seed.deserialize(BorrowedStrDeserializer::new(field)).map(Some)
    }

    fn next_value_seed<S: DeserializeSeed<'a>>(&mut self, seed: S) -> Result<S::Value, Flaw> {
        let reader = self.value.take().ok_or_else(|| Flaw::custom("a key before its value"))?;
        reader.placed("", seed.deserialize(reader))
    }

    /// How many entries there are, or that there are many.
    fn size_hint(&self) -> Option<usize> {
        Some(self.reader.node.entries().take(MOST_FORESEEN).count())
    }
}

/// A key: text, even where a value would be nothing (`null:`) or a number.
#[derive(Clone, Copy)]
struct KeyReader<'a, 't>(Reader<'a, 't>);

/// A method for each whole-number type.
macro_rules! whole_key {
    ($($method:ident $visit:ident $type:ty),* $(,)?) => {$(
        fn $method<V: Visitor<'a>>(self, visitor: V) -> Result<V::Value, Flaw> {
            let whole = core_schema::integer(self.0.node.raw_text()).and_then(|whole| <$type>::try_from(whole).ok());
            let bounds = || format!("a whole number from {} to {}", <$type>::MIN, <$type>::MAX);
            let read = whole.ok_or_else(|| Flaw::unfit(bounds())).and_then(|whole| visitor.$visit(whole));
            self.0.placed("", read)
        }
    )*};
}

impl<'a, 't> Deserializer<'a> for KeyReader<'a, 't> {
    type Error = Flaw;

    whole_key!(
        deserialize_i8 visit_i8 i8, deserialize_i16 visit_i16 i16, deserialize_i32 visit_i32 i32,
        deserialize_i64 visit_i64 i64, deserialize_u8 visit_u8 u8, deserialize_u16 visit_u16 u16,
        deserialize_u32 visit_u32 u32, deserialize_u64 visit_u64 u64,
    );

    fn deserialize_any<V: Visitor<'a>>(self, visitor: V) -> Result<V::Value, Flaw> {
        let read = visitor.visit_borrowed_str(self.0.node.raw_text());
        self.0.placed("", read)
    }

    fn deserialize_newtype_struct<V: Visitor<'a>>(
        self,
        name: &'static str,
        visitor: V,
    ) -> Result<V::Value, Flaw> {
        match name {
            GIVEN | SPANNED => visitor.visit_seq(KeyWithPlace { key: self, next: 0 }),
            _ => visitor.visit_newtype_struct(self),
        }
    }

    fn deserialize_enum<V: Visitor<'a>>(
        self,
        _: &'static str,
        _: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Flaw> {
        let read = visitor.visit_enum(StrDeserializer::<Flaw>::new(self.0.node.raw_text()));
        self.0.placed("", read)
    }

    serde::forward_to_deserialize_any! {
        <V: Visitor<'a>> bool i128 u128 f32 f64 char str string bytes byte_buf option unit unit_struct seq tuple
        tuple_struct map struct identifier ignored_any
    }
}

/// `file, start, end, key`.
struct KeyWithPlace<'a, 't> {
    key: KeyReader<'a, 't>,
    next: u8,
}

impl<'a> SeqAccess<'a> for KeyWithPlace<'a, '_> {
    type Error = Flaw;

    fn next_element_seed<S: DeserializeSeed<'a>>(&mut self, seed: S) -> Result<Option<S::Value>, Flaw> {
        let place = self.key.0.node.place();
        let number = match self.next {
            0 => place.file.0,
            1 => place.start,
            2 => place.end,
            _ => return seed.deserialize(self.key).map(Some),
        };
        self.next += 1;
        seed.deserialize(number.into_deserializer()).map(Some)
    }
}

/// A word, or a single key with its value.
pub(super) struct Variant<'a, 't> {
    pub(super) of: &'static str,
    pub(super) name: Reader<'a, 't>,
    pub(super) value: Option<Reader<'a, 't>>,
}

impl<'a, 't> EnumAccess<'a> for Variant<'a, 't> {
    type Error = Flaw;
    type Variant = Self;

    fn variant_seed<S: DeserializeSeed<'a>>(self, seed: S) -> Result<(S::Value, Self), Flaw> {
        let name = self.name.placed("", seed.deserialize(KeyReader(self.name)))?;
        Ok((name, self))
    }
}

impl<'a, 't> Variant<'a, 't> {
    /// The value behind the word, which must be there.
    fn value(self) -> Result<Reader<'a, 't>, Flaw> {
        self.value.ok_or_else(|| self.name.wrong_shape(Shape::Mapping))
    }
}

impl<'a, 't> VariantAccess<'a> for Variant<'a, 't> {
    type Error = Flaw;

    fn unit_variant(self) -> Result<(), Flaw> {
        match self.value {
            Some(value) => value.expect(Shape::Nothing),
            None => Ok(()),
        }
    }

    fn newtype_variant_seed<S: DeserializeSeed<'a>>(self, seed: S) -> Result<S::Value, Flaw> {
        let value = self.value()?;
        value.placed("", seed.deserialize(value))
    }

    fn tuple_variant<V: Visitor<'a>>(self, length: usize, visitor: V) -> Result<V::Value, Flaw> {
        self.value()?.deserialize_tuple(length, visitor)
    }

    fn struct_variant<V: Visitor<'a>>(
        self,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Flaw> {
        let of = self.of;
        self.value()?.deserialize_struct(of, fields, visitor)
    }
}
