//! The JSON Schema of a job file, made from [`keys`](crate::keys).

use crate::keys::{Form, JOB, Key, Section};
use serde_json::{Map, Value, json};

/// JSON Schema (draft 2020-12), so that editors complete and check a job file as it is typed.
pub fn schema() -> Value {
    let mut root = section(&JOB);
    root["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    root["title"] = json!("Voltwright job file");
    root["properties"]["format"] = json!({ "const": 1, "description": "Version of this file's form." });
    root
}

fn section(section: &Section) -> Value {
    let mut out = object(section.keys);
    let branches: Vec<Value> = section
        .kinds
        .iter()
        .map(|(kind, keys)| {
            let all: Vec<&Key> = section.all(Some(kind)).collect();
            let mut then = table(all.iter().copied());
            then["properties"]["kind"] = json!({ "const": kind });
            let _ = keys;
            json!({ "if": { "properties": { "kind": { "const": kind } }, "required": ["kind"] }, "then": then })
        })
        .collect();
    if !branches.is_empty() {
        out["additionalProperties"] = json!(true);
        out["allOf"] = Value::Array(branches);
    }
    out
}

fn object(keys: &'static [Key]) -> Value {
    table(keys.iter())
}

fn table<'a>(keys: impl Iterator<Item = &'a Key>) -> Value {
    let mut properties = Map::new();
    let mut required = Vec::new();
    for key in keys {
        let mut value = form(key.form);
        value["description"] = json!(key.about);
        properties.insert(key.name.into(), value);
        if key.required {
            required.push(json!(key.name));
        }
    }
    json!({ "type": "object", "properties": properties, "required": required, "additionalProperties": false })
}

fn form(form: Form) -> Value {
    let texts = |items: Value| json!({ "type": "array", "items": items });
    match form {
        Form::Text => json!({ "type": "string" }),
        Form::Value(example) => json!({ "type": "string", "examples": [example] }),
        Form::Values(example) => {
            let one = json!({ "type": "string", "examples": [example] });
            json!({ "anyOf": [one.clone(), texts(one)] })
        }
        Form::Texts => texts(json!({ "type": "string" })),
        Form::Flag => json!({ "type": "boolean" }),
        Form::Whole => json!({ "type": "integer" }),
        Form::OneOf(words) => json!({ "enum": words }),
        Form::Table(of) => section(of),
        Form::Tables(of) => texts(section(of)),
        Form::Named(of) => json!({ "type": "object", "additionalProperties": section(of) }),
        Form::NamedTexts => {
            json!({ "type": "object", "additionalProperties": texts(json!({ "type": "string" })) })
        }
        Form::NamedValues(example) => {
            json!({ "type": "object", "additionalProperties": { "type": "string", "examples": [example] } })
        }
    }
}
