#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| loomwright_core::testing::hostile::tables(bytes));
