//! Figures of the noise review that are not in the drawing.

use serde::{Deserialize, Serialize};

use super::Extra;

/// Known figures of ripple, inductance and level; assumed values replace those not set.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "cli", derive(schemars::JsonSchema))]
pub struct NoiseFigures {
    /// Speed of the engine, 1/min.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub engine_rpm: Option<f64>,
    /// Alternator turns per engine turn.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pulley_ratio: Option<f64>,
    /// Pole pairs of the alternator.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pole_pairs: Option<f64>,
    /// Ripple current of each alternator, A rms.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ripple_a: Option<f64>,
    /// Inductance of wires and shields, µH/m.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wire_uh_per_m: Option<f64>,
    /// Inductance of the structure path at each bond, µH.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bond_uh: Option<f64>,
    /// Level of a microphone, mV rms.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub mic_mv: Option<f64>,
    /// Level of headphones, mV rms.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub phones_mv: Option<f64>,
    /// Unknown fields.
    #[serde(flatten)]
    pub extra: Extra,
}

impl NoiseFigures {
    /// Each figure with its name in files, in form order.
    pub fn each(&mut self) -> [(&'static str, &mut Option<f64>); 8] {
        [
            ("engine_rpm", &mut self.engine_rpm),
            ("pulley_ratio", &mut self.pulley_ratio),
            ("pole_pairs", &mut self.pole_pairs),
            ("ripple_a", &mut self.ripple_a),
            ("wire_uh_per_m", &mut self.wire_uh_per_m),
            ("bond_uh", &mut self.bond_uh),
            ("mic_mv", &mut self.mic_mv),
            ("phones_mv", &mut self.phones_mv),
        ]
    }
}
