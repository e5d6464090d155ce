//! `loomwright schema`: the JSON Schema of project files.

use loomwright_core::{
    document::Document,
    exchange::{FORMAT, VERSION},
};
use serde_json::{Value, json};

/// The schema of the document's records, with the two fields that only a file has.
pub fn schema() -> Value {
    let mut schema = schemars::schema_for!(Document).to_value();
    schema["title"] = json!("Loomwright project");
    schema["properties"]["format"] = json!({"const": FORMAT});
    schema["properties"]["version"] = json!({"const": VERSION});
    if let Some(required) = schema["required"].as_array_mut() {
        required.extend([json!("format"), json!("version")]);
    }
    schema
}
