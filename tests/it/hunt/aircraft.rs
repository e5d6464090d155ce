//! Aircraft made for the hunt: any number of seats, with or without an in-line connector, one radio or two, the
//! intercom grounded at the panel or at the firewall.

use std::fmt::Write;

use loomwright_core::{document::Document, testing};

/// How an aircraft is made.
#[derive(Clone, Copy)]
pub struct Make {
    /// Pairs of jacks.
    pub seats: usize,
    /// True if the rear half of them is wired through an in-line connector.
    pub in_line: bool,
    /// Radios.
    pub radios: usize,
    /// True if avionics have a ground block of their own.
    pub panel_ground: bool,
}

/// The aircraft.
pub fn make(make: Make) -> Document {
    let mut text = String::from(
        "
        place AIR metal
        place FW metal bonded=AIR
        place PANEL metal bonded=AIR
        place ROOF metal bonded=AIR
        place WING metal bonded=AIR
        place ENG metal bonded=AIR
        battery BT1 at=FW
        alternator G1 40 field at=ENG
        bus MBUS ALT=5 IC=3 COM1=7 COM2=7 STB=5 USB=5 FD=5 MD=5 PMP=7 at=PANEL
        ground GB1 STUD T1 T2 T3 T4 T5 T6 T7 T8 T9 tied at=FW
        ground GB2 STUD T1 T2 T3 T4 T5 at=PANEL
        switch S1 1-2 at=PANEL
        load LT2 1 peak=5 pulses=flashes at=WING
        load USB1 2 pulses=charges at=PANEL
        load FD1 2 at=PANEL
        load MD1 1.5 at=PANEL
        load PMP1 4 sort=motor at=FW
        unit MAG1 P:p_lead CASE:shield_tie at=ENG
        unit MAG2 P:p_lead CASE:shield_tie at=ENG
        wire P1 BT1.+ MBUS.STUD 6 1m
        wire P2 G1.B MBUS.STUD 8 1.5m
        wire P3 G1.CASE GB1.STUD 8 0.8m
        wire P4 BT1.- GB1.STUD 4 0.5m
        wire P5 GB1.STUD GB2.STUD 12 1.2m
        wire F1 MBUS.ALT S1.1 20 0.4m
        wire F2 S1.2 G1.FLD 20 1.5m
        wire L1 MBUS.STB LT2.+ 18 4m
        wire L2 LT2.- GB1.T1 18 4m
        wire U1 MBUS.USB USB1.+ 20 0.5m
        wire U2 USB1.- GB1.T2 20 1m
        wire D1 MBUS.FD FD1.+ 20 0.5m
        wire D2 FD1.- GB1.T3 20 1m
        wire D3 MBUS.MD MD1.+ 20 0.5m
        wire D4 MD1.- GB1.T4 20 1m
        wire Q1 MBUS.PMP PMP1.+ 18 1m
        wire Q2 PMP1.- GB1.T5 18 0.6m
        ",
    );
    let mut pins = String::new();
    for seat in 1..=make.seats {
        write!(
            pins,
            " H{seat}:audio_high L{seat}:audio_low M{seat}:audio_high N{seat}:audio_low"
        )
        .expect("a string takes it");
    }
    let mut line = |words: String| {
        text += &words;
        text.push('\n');
    };
    line(format!(
        "unit IC1 P:power_in R:return T:shield_tie{pins} at=PANEL"
    ));
    line("inside IC1 load P R 0.5".into());
    let lows: String = (1..=make.seats).map(|it| format!(" L{it} N{it}")).collect();
    line(format!("inside IC1 bar R T{lows}"));
    let block = if make.panel_ground { "GB2" } else { "GB1" };
    let tab = |n: usize| match make.panel_ground {
        true => n,
        false => n + 5,
    };
    line("wire R1 MBUS.IC IC1.P 22 0.6m".into());
    line(format!("wire R2 IC1.R {block}.T{} 22 0.7m", tab(1)));
    for n in 1..=make.radios {
        line(format!(
            "unit COM{n} P:power_in R:return A:audio_high B:audio_low K:key_line RF:rf at=PANEL"
        ));
        line(format!(
            "inside COM{n} load P R 0.5 intermittent=3 pulses=transmits"
        ));
        line(format!("wire C{n}A MBUS.COM{n} COM{n}.P 18 0.5m"));
        line(format!(
            "wire C{n}B COM{n}.R {block}.T{} 18 0.6m",
            tab(1 + n)
        ));
    }
    let rear = |seat: usize| make.in_line && seat > make.seats / 2;
    if make.in_line {
        let all: String = (1..=make.seats * 6).map(|it| format!(" {it}")).collect();
        line(format!("mated J1/P1{all}"));
    }
    for seat in 1..=make.seats {
        let place = if rear(seat) { "ROOF" } else { "PANEL" };
        for (n, (word, high, low)) in [("phones", "H", "L"), ("mic", "M", "N")]
            .into_iter()
            .enumerate()
        {
            let jack = format!("JK{}", seat * 2 - 1 + n);
            let pin = |of: usize| (seat - 1) * 6 + n * 3 + of;
            let tip = if n == 0 { "tip" } else { "ring" };
            line(format!("jack {jack} {word} isolated at={place}"));
            if rear(seat) {
                line(format!(
                    "wire {jack}A IC1.{high}{seat} J1.J1-{} 22 2m",
                    pin(1)
                ));
                line(format!(
                    "wire {jack}B IC1.{low}{seat} J1.J1-{} 22 2m",
                    pin(2)
                ));
                line(format!(
                    "wire {jack}C J1.P1-{} {jack}.{tip} 22 0.4m",
                    pin(1)
                ));
                line(format!(
                    "wire {jack}D J1.P1-{} {jack}.sleeve 22 0.4m",
                    pin(2)
                ));
                line(format!(
                    "cable {jack}X {jack}A {jack}B shield IC1.T carried:J1.J1-{}",
                    pin(3)
                ));
                line(format!(
                    "cable {jack}Y {jack}C {jack}D shield carried:J1.P1-{} floating",
                    pin(3)
                ));
            } else {
                line(format!("wire {jack}A IC1.{high}{seat} {jack}.{tip} 22 1m"));
                line(format!("wire {jack}B IC1.{low}{seat} {jack}.sleeve 22 1m"));
                line(format!(
                    "cable {jack}X {jack}A {jack}B shield IC1.T floating"
                ));
            }
        }
    }
    line("state RUN running on=S1".into());
    testing::document(&text)
}
