//! The kinds of value that the tables are made of: each says its range once, in its JSON Schema.

use std::collections::BTreeMap;
use std::fmt;
use std::marker::PhantomData;
use std::ops::Range;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::de::{Deserialize, Deserializer, MapAccess, Visitor, value::MapAccessDeserializer};
use toml::Spanned;

use super::tables::HoldsTable;
use crate::model::Band;

/// A value and where it stands in the text, in bytes.
pub struct Placed<T> {
    /// The value.
    pub value: T,
    /// Where it stands.
    pub span: Range<usize>,
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Placed<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let spanned = Spanned::<T>::deserialize(deserializer)?;
        Ok(Self { span: spanned.span(), value: spanned.into_inner() })
    }
}

impl<T: JsonSchema> JsonSchema for Placed<T> {
    fn inline_schema() -> bool {
        T::inline_schema()
    }
    fn schema_name() -> std::borrow::Cow<'static, str> {
        T::schema_name()
    }
    fn schema_id() -> std::borrow::Cow<'static, str> {
        T::schema_id()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        T::json_schema(generator)
    }
}

/// A name, as defined or as used.
pub(super) type Name = Placed<String>;

/// A kind of value whose JSON Schema stands where it is used.
macro_rules! value {
    ($(#[$doc:meta])* $name:ident($inner:ty), $schema:tt) => {
        $(#[$doc])*
        #[derive(Clone, Copy, serde::Deserialize, serde::Serialize)]
        #[serde(transparent)]
        pub(super) struct $name(pub $inner);

        impl JsonSchema for $name {
            fn inline_schema() -> bool {
                true
            }
            fn schema_name() -> std::borrow::Cow<'static, str> {
                stringify!($name).into()
            }
            fn json_schema(_: &mut SchemaGenerator) -> Schema {
                json_schema!($schema)
            }
        }
    };
}

// The outer limits keep squares and quotients finite; no rig comes near them.
value!(
    /// Above zero.
    Positive(f64), { "type": "number", "minimum": 1e-6, "maximum": 1_000_000_000 }
);
value!(
    /// Zero or more.
    NonNegative(f64), { "type": "number", "minimum": 0, "maximum": 1_000_000_000 }
);
value!(
    /// A capstan coefficient; the limit keeps exp(friction x π) finite.
    Friction(f64), { "type": "number", "minimum": 0, "maximum": 100 }
);
value!(
    /// Between 0 and 100.
    Percent(f64), { "type": "number", "exclusiveMinimum": 0, "exclusiveMaximum": 100 }
);
value!(
    /// Seconds that a fall is followed.
    FollowedSeconds(f64), { "type": "number", "exclusiveMinimum": 0, "maximum": 120 }
);
value!(
    /// A height, z up.
    Height(f64), { "type": "number", "minimum": -1_000_000, "maximum": 1_000_000 }
);
value!(
    /// A share of what comes in.
    Share(f64), { "type": "number", "minimum": 0.01, "maximum": 1 }
);
value!(
    /// Tension over tension, at least 1.
    TensionRatio(f64), { "type": "number", "minimum": 1, "maximum": 1_000_000 }
);
value!(
    /// Mass of a metre of rope; below the least its weight is lost in rounding.
    LinearMass(f64), { "type": "number", "minimum": 0.001, "maximum": 1000 }
);
value!(
    /// A place along one axis.
    Coordinate(f64), { "type": "number", "minimum": -1_000_000, "maximum": 1_000_000 }
);
value!(
    /// From one place to another along one axis.
    Reach([f64; 2]), {
        "type": "array",
        "items": { "type": "number", "minimum": -1_000_000, "maximum": 1_000_000 },
        "minItems": 2,
        "maxItems": 2
    }
);
value!(
    /// A number of clips.
    Clips(u8), { "type": "integer", "minimum": 1, "maximum": 20 }
);
value!(
    /// A number of hands.
    Hands(u8), { "type": "integer", "minimum": 0, "maximum": 60 }
);
value!(
    /// x, y, z.
    Vector([f64; 3]), {
        "type": "array",
        "items": { "type": "number", "minimum": -1_000_000, "maximum": 1_000_000 },
        "minItems": 3,
        "maxItems": 3
    }
);
value!(
    /// Lowest and highest of a capstan coefficient.
    FrictionBounds([f64; 2]), {
        "type": "array",
        "items": { "type": "number", "minimum": 0, "maximum": 100 },
        "minItems": 2,
        "maxItems": 2
    }
);
value!(
    /// Lowest and highest of what is above zero.
    PositiveBounds([f64; 2]), {
        "type": "array",
        "items": { "type": "number", "minimum": 1e-6, "maximum": 1_000_000_000 },
        "minItems": 2,
        "maxItems": 2
    }
);

impl From<FrictionBounds> for Band {
    fn from(FrictionBounds([low, high]): FrictionBounds) -> Self {
        Self { low, high }
    }
}

impl From<PositiveBounds> for Band {
    fn from(PositiveBounds([low, high]): PositiveBounds) -> Self {
        Self { low, high }
    }
}

impl From<Reach> for Band {
    fn from(Reach([low, high]): Reach) -> Self {
        Self { low, high }
    }
}

/// Sub-tables by name, in the order of the file.
pub(super) struct Named<T>(pub Vec<(Name, T)>);

impl<T> Default for Named<T> {
    fn default() -> Self {
        Self(Vec::new())
    }
}

impl<'de, T: Deserialize<'de>> Deserialize<'de> for Named<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_map(NamedVisitor(PhantomData))
    }
}

struct NamedVisitor<T>(PhantomData<T>);

impl<'de, T: Deserialize<'de>> Visitor<'de> for NamedVisitor<T> {
    type Value = Named<T>;

    fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("tables by name")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
        let mut entries = Vec::new();
        while let Some(entry) = map.next_entry()? {
            entries.push(entry);
        }
        Ok(Named(entries))
    }
}

impl<T: JsonSchema> JsonSchema for Named<T> {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> std::borrow::Cow<'static, str> {
        <BTreeMap<String, T>>::schema_name()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        <BTreeMap<String, T>>::json_schema(generator)
    }
}

/// What an anchor holds: one number, or a table by direction.
pub(super) enum HoldsValue {
    Every(f64),
    ByDirection(HoldsTable),
}

impl<'de> Deserialize<'de> for HoldsValue {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        deserializer.deserialize_any(HoldsVisitor)
    }
}

/// By hand, since an untagged enum would lose the places of the values in the table.
struct HoldsVisitor;

impl<'de> Visitor<'de> for HoldsVisitor {
    type Value = HoldsValue;

    fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
        formatter.write_str("a number of kN or a table by direction")
    }

    fn visit_f64<E>(self, value: f64) -> Result<Self::Value, E> {
        Ok(HoldsValue::Every(value))
    }

    fn visit_i64<E>(self, value: i64) -> Result<Self::Value, E> {
        Ok(HoldsValue::Every(value as f64))
    }

    fn visit_map<A: MapAccess<'de>>(self, map: A) -> Result<Self::Value, A::Error> {
        HoldsTable::deserialize(MapAccessDeserializer::new(map)).map(HoldsValue::ByDirection)
    }
}

impl JsonSchema for HoldsValue {
    fn inline_schema() -> bool {
        true
    }
    fn schema_name() -> std::borrow::Cow<'static, str> {
        "Holds".into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let number = Positive::json_schema(generator);
        let table = generator.subschema_for::<HoldsTable>();
        json_schema!({ "anyOf": [number, table] })
    }
}
