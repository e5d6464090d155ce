//! A device from the catalogue, or from another one, put on a sheet.

use super::{
    Change, EditError,
    copy::on_copy,
    free,
    sheets::{SheetPoint, put_item},
};
use crate::document::{Device, Document, Extra, Shown};

/// Adds a device under a free tag, and puts it on a sheet if a spot is given. A tag that is taken
/// gets the next number: COM1 → COM2.
pub fn add_device(
    document: &Document,
    device: Device,
    spot: Option<&SheetPoint>,
) -> Result<Change, EditError> {
    on_copy(document, |copy| {
        let tag = free::tag(copy, &device.tag);
        let id = free::key(&copy.devices, &free::slug(&tag));
        let mut device = device;
        device.set_tag(tag);
        copy.devices
            .insert(crate::ids::DeviceId::clone(&id), device);
        match spot {
            Some(spot) => put_item(
                copy,
                spot,
                Shown::Device {
                    device: id,
                    terminals: Vec::new(),
                    extra: Extra::new(),
                },
            ),
            None => Ok(()),
        }
    })
}
