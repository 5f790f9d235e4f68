//! Unknown fields inside `shape` and `known`, which are plain Rust values with no room for them: they are
//! put aside when a mark is read and put back when it is written.

use serde::de::Error;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_json::{Map, Value};

use super::document::Known;
use crate::json::plain_words;
use crate::raster::Shape;

/// A value as it stands in the file, with the fields that this version does not know.
pub(super) struct Kept<T> {
    value: T,
    unknown: Map<String, Value>,
}

/// A value that a JSON object describes among fields that may be unknown.
pub(super) trait Described: Serialize + Sized {
    /// Names that exclude each other, so that one left over from before a change must not come back.
    const ALTERNATIVES: &'static [&'static str];

    /// Reads the value; unknown fields are no error.
    fn from_fields(fields: &Map<String, Value>) -> Result<Self, String>;
}

impl<T> Kept<T> {
    /// The value; its unknown fields go into `rest` under `name`.
    pub(super) fn take(self, name: &str, rest: &mut Map<String, Value>) -> T {
        if !self.unknown.is_empty() {
            rest.insert(name.into(), Value::Object(self.unknown));
        }
        self.value
    }

    /// The inverse of [`Kept::take`].
    pub(super) fn restore(value: T, name: &str, rest: &mut Map<String, Value>) -> Self {
        let unknown = match rest.shift_remove(name) {
            Some(Value::Object(unknown)) => unknown,
            _ => Map::new(),
        };
        Self { value, unknown }
    }
}

impl<'de, T: Described> Deserialize<'de> for Kept<T> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let fields = Map::deserialize(deserializer)?;
        let value = T::from_fields(&fields).map_err(D::Error::custom)?;
        let known = serde_json::to_value(&value).map_err(D::Error::custom)?;
        let mut unknown = fields;
        if let Value::Object(known) = &known {
            subtract(&mut unknown, known);
        }
        Ok(Self { value, unknown })
    }
}

impl<T: Described> Serialize for Kept<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        use serde::ser::Error;
        if self.unknown.is_empty() {
            return self.value.serialize(serializer);
        }
        let mut whole = serde_json::to_value(&self.value).map_err(S::Error::custom)?;
        if let Value::Object(fields) = &mut whole {
            let mut unknown = self.unknown.clone();
            unknown.retain(|name, _| fields.contains_key(name) || !T::ALTERNATIVES.contains(&name.as_str()));
            add(fields, &unknown);
        }
        whole.serialize(serializer)
    }
}

/// Takes from `whole` what `known` has, down through objects.
fn subtract(whole: &mut Map<String, Value>, known: &Map<String, Value>) {
    for (name, known) in known {
        match (whole.get_mut(name), known) {
            (Some(Value::Object(inner)), Value::Object(known)) => {
                subtract(inner, known);
                if inner.is_empty() {
                    whole.shift_remove(name);
                }
            }
            _ => {
                whole.shift_remove(name);
            }
        }
    }
}

/// Adds what only `unknown` has, down through objects.
fn add(whole: &mut Map<String, Value>, unknown: &Map<String, Value>) {
    for (name, unknown) in unknown {
        match (whole.get_mut(name), unknown) {
            (Some(Value::Object(inner)), Value::Object(unknown)) => add(inner, unknown),
            (Some(_), _) => {}
            (None, _) => {
                whole.insert(name.clone(), unknown.clone());
            }
        }
    }
}

/// Reads one field by serde, with the field's name in the error.
fn read<T: serde::de::DeserializeOwned>(name: &str, value: &Value) -> Result<T, String> {
    serde_path_to_error::deserialize(value).map_err(|error| {
        let inner = match error.path().to_string().as_str() {
            "." => name.to_string(),
            path if path.starts_with('[') => format!("{name}{path}"),
            path => format!("{name}.{path}"),
        };
        format!("{inner}: {}", plain_words(&error.inner().to_string()))
    })
}

impl Described for Shape {
    const ALTERNATIVES: &'static [&'static str] = &["circle", "rect", "polygon"];

    fn from_fields(fields: &Map<String, Value>) -> Result<Self, String> {
        #[derive(Deserialize)]
        struct Circle {
            centre: [f64; 2],
            radius: f64,
        }
        #[derive(Deserialize)]
        struct Rect {
            min: [f64; 2],
            max: [f64; 2],
        }
        let mut given =
            Self::ALTERNATIVES.iter().filter_map(|name| fields.get(*name).map(|value| (*name, value)));
        match (given.next(), given.next()) {
            (Some(("circle", value)), None) => {
                let Circle { centre, radius } = read("circle", value)?;
                Ok(Shape::Circle { centre, radius })
            }
            (Some(("rect", value)), None) => {
                let Rect { min, max } = read("rect", value)?;
                Ok(Shape::Rect { min, max })
            }
            (Some((_, value)), None) => Ok(Shape::Polygon(read("polygon", value)?)),
            (None, _) => Err("expected one of circle, rect and polygon, found none of them".into()),
            (Some((one, _)), Some((other, _))) => {
                Err(format!("expected one of circle, rect and polygon, found {one} and {other}"))
            }
        }
    }
}

impl Described for Known {
    const ALTERNATIVES: &'static [&'static str] = &["lab", "sd", "shade", "specimen"];

    fn from_fields(fields: &Map<String, Value>) -> Result<Self, String> {
        match (fields.get("lab"), fields.get("sd"), fields.get("shade")) {
            (Some(lab), Some(sd), None) => Ok(Known::Lab { lab: read("lab", lab)?, sd: read("sd", sd)? }),
            (None, None, Some(shade)) => {
                let specimen = fields.get("specimen").map(|value| read("specimen", value)).transpose()?;
                Ok(Known::Shade { shade: read("shade", shade)?, specimen })
            }
            (Some(_), None, None) => Err("lab is there, but its standard deviations sd are missing".into()),
            (None, Some(_), None) => Err("sd is there, but the colour lab is missing".into()),
            (None, None, None) => Err("expected lab and sd, or shade, found neither".into()),
            (_, _, Some(_)) => Err("expected either lab and sd, or shade, found both".into()),
        }
    }
}

impl<'de> Deserialize<'de> for Known {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Known::from_fields(&Map::deserialize(deserializer)?).map_err(D::Error::custom)
    }
}
