//! A pin table from a manual or a spreadsheet becomes a device.

use super::cells;
use crate::{
    document::{Device, Role, Terminal, folded},
    edit::{connector_called, pin_called},
};

/// What a column of the table holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum ColumnContent {
    Pin,
    Name,
    Connector,
    Role,
}

/// A table cannot become a device.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum PinsError {
    /// There are no rows under the headings.
    #[error("the table has no rows; copy the pins and their functions")]
    Empty,
    /// A pin is listed twice.
    #[error("row {}: pin {pin} is listed twice; add a column with the connector of each", row + 1)]
    Twice {
        /// The row, from 0.
        row: usize,
        /// The pin.
        pin: String,
    },
}

/// Reads a table of pins: pin and function, and optional columns for the connector and the role.
/// Without headings the first column is the pin and the second its function. If the table gives no
/// role, it is guessed from the function, and a person reviews it.
///
/// # Errors
/// [`PinsError`]; then no device is created.
pub fn device(text: &str, tag: &str, title: &str) -> Result<Device, PinsError> {
    let mut rows = cells::filled(text);
    let headings: Vec<Option<ColumnContent>> = (rows.first().into_iter().flatten())
        .map(|cell| heading(cell))
        .collect();
    let columns = if headings.contains(&Some(ColumnContent::Pin)) {
        rows.remove(0);
        headings
    } else {
        vec![Some(ColumnContent::Pin), Some(ColumnContent::Name)]
    };
    if rows.is_empty() {
        return Err(PinsError::Empty);
    }
    let mut device = Device::plain(tag, title);
    for (at, row) in rows.iter().enumerate() {
        let cell = |says: ColumnContent| {
            let column = columns.iter().position(|it| *it == Some(says));
            let cell = column.and_then(|column| row.get(column));
            cell.map_or("", |cell| cell.trim())
        };
        let (pin, name) = (cell(ColumnContent::Pin), cell(ColumnContent::Name));
        if pin.is_empty() {
            continue;
        }
        let connector = match cell(ColumnContent::Connector) {
            "" => None,
            label => Some(connector_called(&mut device, label)),
        };
        let twice = |it: &Terminal| it.label == pin && it.connector == connector;
        if device.terminals.iter().any(twice) {
            return Err(PinsError::Twice {
                row: at,
                pin: pin.to_owned(),
            });
        }
        let said = match cell(ColumnContent::Role) {
            "" => name.to_owned(),
            role => format!("{role} {name}"),
        };
        let id = pin_called(&mut device, connector.as_ref(), pin);
        if let Some(terminal) = device.terminals.iter_mut().find(|it| it.id == id) {
            name.clone_into(&mut terminal.name);
            terminal.role = role(&said);
        }
    }
    if device.terminals.is_empty() {
        return Err(PinsError::Empty);
    }
    Ok(device)
}

fn heading(cell: &str) -> Option<ColumnContent> {
    Some(match folded(cell.trim()).as_str() {
        "pin" | "pin no" | "pin no." | "pin number" | "pin #" | "no" | "no." | "contact"
        | "terminal" | "pos" | "position" => ColumnContent::Pin,
        "name" | "function" | "signal" | "signal name" | "description" | "pin name" | "use" => {
            ColumnContent::Name
        }
        "connector" | "plug" | "conn" | "jack" => ColumnContent::Connector,
        "role" | "type" | "kind" | "direction" | "i/o" | "io" => ColumnContent::Role,
        _ => return None,
    })
}

/// The role of a pin, from the words of its function. The first match counts.
fn role(said: &str) -> Role {
    let said = folded(said);
    let words: Vec<&str> = said
        .split(|c: char| !c.is_alphanumeric() && c != '+' && c != '-')
        .filter(|word| !word.is_empty())
        .collect();
    let has = |any: &[&str]| words.iter().any(|word| any.contains(word));
    let begins = |any: &[&str]| {
        words
            .iter()
            .any(|word| any.iter().any(|it| word.starts_with(it)))
    };
    let low = has(&["lo", "low", "-", "neg", "return", "rtn", "gnd"]);
    let ground = has(&["gnd", "ground", "return", "rtn", "earth"]);
    let b_line = has(&["b"]);
    match () {
        () if words.is_empty() || has(&["spare", "nc", "n/c", "reserved", "unused", "open"]) => {
            Role::Spare
        }
        () if begins(&["shield", "shld", "drain"]) => Role::ShieldTie,
        () if begins(&["can"]) && has(&["h", "hi", "high", "canh", "can-h"]) => Role::CanHigh,
        () if begins(&["can"]) && has(&["l", "lo", "low", "canl", "can-l"]) => Role::CanLow,
        () if begins(&["429", "arinc"]) && b_line => Role::Arinc429B,
        () if begins(&["429", "arinc"]) => Role::Arinc429A,
        () if has(&["tx", "txd", "out"]) && begins(&["serial", "rs232", "rs-232", "txd", "tx"]) => {
            Role::SerialTx
        }
        () if has(&["rx", "rxd", "in"]) && begins(&["serial", "rs232", "rs-232", "rxd", "rx"]) => {
            Role::SerialRx
        }
        () if has(&["tx", "txd"]) => Role::SerialTx,
        () if has(&["rx", "rxd"]) => Role::SerialRx,
        () if begins(&["ptt", "key"]) => Role::KeyLine,
        () if begins(&[
            "audio",
            "phone",
            "phn",
            "mic",
            "headphone",
            "speaker",
            "sidetone",
        ]) =>
        {
            match low {
                true => Role::AudioLow,
                false => Role::AudioHigh,
            }
        }
        () if begins(&["antenna", "ant", "rf", "coax"]) => Role::Rf,
        () if ground && begins(&["signal", "sensor", "serial", "data", "audio"]) => {
            Role::SignalReturn
        }
        () if ground => Role::Return,
        () if begins(&[
            "power", "pwr", "supply", "vcc", "+14", "+12", "+28", "14v", "12v", "28v",
        ]) =>
        {
            match has(&["out", "output", "gives"]) {
                true => Role::PowerOut,
                false => Role::PowerIn,
            }
        }
        () if has(&["aircraft"]) && begins(&["power"]) => Role::PowerIn,
        () => Role::Passive,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_with_headings_becomes_a_device() {
        let table = "Connector,Pin,Function\nJ1,1,POWER +14V\nJ1,9,GROUND\nJ1,6,RCV AUDIO HI\n\
                     J1,13,RCV AUDIO LO\nJ1,7,PTT\nJ2,1,SERIAL TX\nJ2,2,SPARE\n";
        let device = device(table, "COM3", "Com radio").expect("a sound table");
        let said: Vec<_> = (device.terminals.iter())
            .map(|it| (device.terminal_label(it), it.role))
            .collect();
        let wanted = [
            ("COM3 J1-1", Role::PowerIn),
            ("COM3 J1-9", Role::Return),
            ("COM3 J1-6", Role::AudioHigh),
            ("COM3 J1-13", Role::AudioLow),
            ("COM3 J1-7", Role::KeyLine),
            ("COM3 J2-1", Role::SerialTx),
            ("COM3 J2-2", Role::Spare),
        ];
        let wanted = wanted.map(|(label, role)| (label.to_owned(), role));
        assert_eq!(said, wanted);
    }

    #[test]
    fn without_headings_the_pin_comes_first() {
        let device = device("1\tCAN H\n2\tCAN L\n+\tPWR IN", "MD2", "").expect("two columns");
        let roles: Vec<_> = device.terminals.iter().map(|it| it.role).collect();
        assert_eq!(roles, [Role::CanHigh, Role::CanLow, Role::PowerIn]);
    }

    #[test]
    fn a_pin_twice_and_no_pin_at_all_are_told() {
        assert_eq!(device("Pin,Name\n", "X1", ""), Err(PinsError::Empty));
        let twice = device("Pin,Name\n1,A\n1,B\n", "X1", "");
        assert!(matches!(twice, Err(PinsError::Twice { row: 1, .. })));
    }

    #[test]
    fn the_catalogue_reads_back_with_few_other_roles() {
        // Most roles can be found from the words of the function, not all.
        let (mut same, mut all) = (0, 0);
        for part in crate::catalogue::all() {
            let device = part.device();
            for terminal in device.terminals.iter().filter(|it| !it.name.is_empty()) {
                all += 1;
                same += usize::from(role(&terminal.name) == terminal.role);
            }
        }
        assert!(same * 10 > all * 5, "{same} of {all}");
    }
}
