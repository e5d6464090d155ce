//! Where projects are kept. Each is at two places: in the browser's small storage (`localStorage`), which
//! has it before the next frame, in two slots; and in its database, which has it on the disk a moment
//! later and holds what the other is too small for. The newest undamaged one of the three wins.

mod browser;
mod deep;
pub mod earlier;
pub mod index;
mod projects;
pub mod slots;
mod store;

pub use browser::Browser;
pub use deep::{
    Earlier, earlier_of, earlier_text, index as deep_index, keep_earlier, keep_index, save,
};
pub use index::{Entry, Index};
pub use projects::{forget, leave_here, newest, project_name, save_here};
pub use slots::SavedText;
pub use store::{Store, StoreError};
