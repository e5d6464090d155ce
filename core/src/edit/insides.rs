//! The contents of a device: its terminals and elements.

use super::{Change, EditError, Key, Record, free, update_record};
use crate::{
    document::{Device, Document, Element, ElementKind, Terminal},
    ids::{DeviceId, ElementId, TerminalId},
};

fn on_device(
    document: &Document,
    id: &DeviceId,
    edit: impl FnOnce(&mut Device) -> Result<(), EditError>,
) -> Result<Change, EditError> {
    let device = document.devices.get(id);
    let mut device = device
        .ok_or_else(|| EditError::not_there("device", id))?
        .clone();
    edit(&mut device)?;
    update_record(document, &Key::Device(id.clone()), Record::Device(device))
}

/// Adds a terminal, last. If its key is taken it gets another.
pub fn add_terminal(
    document: &Document,
    device: &DeviceId,
    terminal: Terminal,
) -> Result<Change, EditError> {
    on_device(document, device, |device| {
        let taken = |text: &str| device.terminals.iter().any(|t| t.id.as_str() == text);
        let id = free::numbered(terminal.id.as_str(), taken).into();
        device.terminals.push(Terminal { id, ..terminal });
        Ok(())
    })
}

/// Takes a terminal out, and the elements that need it. Wires that ended there stay, with an open
/// end.
pub fn remove_terminal(
    document: &Document,
    device: &DeviceId,
    terminal: &TerminalId,
) -> Result<Change, EditError> {
    on_device(document, device, |device| {
        let before = device.terminals.len();
        device.terminals.retain(|t| t.id != *terminal);
        if device.terminals.len() == before {
            return Err(EditError::not_there("terminal", terminal));
        }
        for element in &mut device.elements {
            // A bar or a switch lives on with one terminal less.
            match &mut element.is {
                ElementKind::Bar(bar) => bar.terminals.retain(|t| t != terminal),
                ElementKind::Switch(switch) => {
                    for position in &mut switch.positions {
                        position.joins.retain(|join| !join.contains(terminal));
                    }
                }
                _ => {}
            }
        }
        let needs = |element: &Element| element.is.terminals().iter().any(|(_, t)| *t == terminal);
        device.elements.retain(|element| !needs(element));
        drop_idle_contacts(device);
        Ok(())
    })
}

/// Adds an element, last. If its key is taken it gets another.
pub fn add_element(
    document: &Document,
    device: &DeviceId,
    element: Element,
) -> Result<Change, EditError> {
    on_device(document, device, |device| {
        let taken = |text: &str| device.elements.iter().any(|e| e.id.as_str() == text);
        let id = free::numbered(element.id.as_str(), taken).into();
        device.elements.push(Element { id, ..element });
        Ok(())
    })
}

/// Takes an element out; a coil with its contacts.
pub fn remove_element(
    document: &Document,
    device: &DeviceId,
    element: &ElementId,
) -> Result<Change, EditError> {
    on_device(document, device, |device| {
        let before = device.elements.len();
        device.elements.retain(|e| e.id != *element);
        if device.elements.len() == before {
            return Err(EditError::not_there("element", element));
        }
        drop_idle_contacts(device);
        Ok(())
    })
}

/// Contacts whose coil is gone go with it.
fn drop_idle_contacts(device: &mut Device) {
    let coils: Vec<_> = (device.elements.iter())
        .filter(|element| matches!(element.is, ElementKind::Coil(_)))
        .map(|element| element.id.clone())
        .collect();
    device.elements.retain(|element| match &element.is {
        ElementKind::Contact(contact) => coils.contains(&contact.coil),
        _ => true,
    });
}
