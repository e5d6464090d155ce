//! The only code that makes changes: each edit is a function that returns a [`Change`]. It never modifies the
//! document it is given, never asks, and never reads rules.

mod accept;
mod add;
mod add_device;
mod cable;
pub mod change;
mod connect;
mod copy;
mod counterpart;
mod delete;
mod duplicate;
mod error;
pub mod free;
pub mod grid;
mod history;
mod ink;
mod insides;
mod number;
mod operate;
mod plain;
mod put_in;
mod rekey;
mod routes;
mod sheets;
mod shield_points;
mod show;
mod splice_into;
mod swap;
mod take_off;
#[cfg(test)]
mod tests;
mod update;

pub use crate::document::{Key, Record};

pub use self::{
    accept::{accept, reopen},
    add::{add_drawn_sheet, add_record, add_sheet},
    add_device::add_device,
    cable::{cable_of, make_cable, remove_cable},
    change::Change,
    connect::{connect, connect_all, next_pin, repeat, set_end},
    copy::settled,
    counterpart::WhyOpen,
    delete::delete,
    duplicate::{Duplicated, LeftOpen, duplicate},
    error::EditError,
    history::History,
    ink::{add_ink, erase_ink, hide_ink, ink_at, ink_together, move_ink},
    insides::{add_element, add_terminal, remove_element, remove_terminal},
    number::number_wires,
    operate::{pull_breaker, push_breaker, set_load_use, set_switch},
    plain::{connector_called, pin_called},
    put_in::{put_before_wiring, put_reading, put_stock},
    rekey::rekey,
    routes::{BETWEEN_ROUTES, routes_titled},
    sheets::{
        SheetPoint, hold_stretch, mirror_items, move_items, place_on_sheet, put_items,
        remove_from_sheet,
    },
    shield_points::{ShieldFit, ShieldPoint, shield_points},
    show::{SizeMm, show_splices},
    splice_into::splice_into,
    swap::{By, Pin, match_cavities, match_pins, swap, used_terminals},
    take_off::{Reach, TakenOff, reach, remove_shown, take_off},
    update::{rename, update_record},
};
