//! Reading JSON more strictly than serde does by itself: a list is no object.

use serde::Deserializer;
use serde::de::value::StringDeserializer;
use serde::de::{DeserializeSeed, Error as _, IntoDeserializer, MapAccess, SeqAccess, Unexpected, Visitor};
use serde::forward_to_deserialize_any;
use serde_json::{Error, Value};

/// A JSON value of which an object is read from an object alone. serde's derived readers also
/// take a list of the fields' values in their order, which no document says.
pub struct Strict<'v>(pub &'v Value);

impl<'de> Deserializer<'de> for Strict<'de> {
    type Error = Error;

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        match self.0 {
            Value::Array(list) => visitor.visit_seq(Elements(list.iter())),
            Value::Object(map) => visitor.visit_map(Fields { left: map.iter(), value: None }),
            plain => plain.deserialize_any(visitor),
        }
    }

    fn deserialize_struct<V: Visitor<'de>>(self, _: &'static str, _: &'static [&'static str], visitor: V) -> Result<V::Value, Error> {
        match self.0 {
            Value::Array(_) => Err(Error::invalid_type(Unexpected::Seq, &visitor)),
            _ => self.deserialize_any(visitor),
        }
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Error> {
        if self.0.is_null() { visitor.visit_none() } else { visitor.visit_some(self) }
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(self, _: &'static str, visitor: V) -> Result<V::Value, Error> {
        visitor.visit_newtype_struct(self)
    }

    fn deserialize_enum<V: Visitor<'de>>(self, name: &'static str, words: &'static [&'static str], visitor: V) -> Result<V::Value, Error> {
        self.0.deserialize_enum(name, words, visitor)
    }

    forward_to_deserialize_any! {
        bool i8 i16 i32 i64 i128 u8 u16 u32 u64 u128 f32 f64 char str string bytes byte_buf unit
        unit_struct seq tuple tuple_struct map identifier ignored_any
    }
}

struct Elements<'v>(std::slice::Iter<'v, Value>);

impl<'de> SeqAccess<'de> for Elements<'de> {
    type Error = Error;

    fn next_element_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<Option<T::Value>, Error> {
        self.0.next().map(|value| seed.deserialize(Strict(value))).transpose()
    }
}

struct Fields<'v> {
    left: serde_json::map::Iter<'v>,
    value: Option<&'v Value>,
}

impl<'de> MapAccess<'de> for Fields<'de> {
    type Error = Error;

    fn next_key_seed<K: DeserializeSeed<'de>>(&mut self, seed: K) -> Result<Option<K::Value>, Error> {
        let Some((name, value)) = self.left.next() else { return Ok(None) };
        self.value = Some(value);
        let name: StringDeserializer<Error> = name.clone().into_deserializer();
        seed.deserialize(name).map(Some)
    }

    fn next_value_seed<V: DeserializeSeed<'de>>(&mut self, seed: V) -> Result<V::Value, Error> {
        let value = self.value.take().ok_or_else(|| Error::custom("a value comes after its name"))?;
        seed.deserialize(Strict(value))
    }
}
