//! The store: jobs as revisions, first powers with their readings, pictures, paired devices; in one SQLite file.
//!
//! What was entered is kept: revisions, runs, entries and pictures can only be added, and the file itself refuses to
//! change or delete them. This crate alone speaks SQL. It knows no web page, no terminal, no clock and no environment:
//! times are given by the caller, and so are the titles of jobs, whose text it does not read.
//!
//! - [`Store`]: opening the file; its methods are in one file for each thing stored.
//! - [`archive`]: a job as a zip file, out of the store and into it.
//! - [`StoreError`], [`ArchiveError`]: sentences for a person, with what to do.
//!
//! ```
//! use voltwright_workshop::{Moment, Saved, Store};
//! let folder = std::env::temp_dir().join(format!("voltwright-doc-{}", std::process::id()));
//! let store = Store::open(&folder.join("workshop.db"))?;
//! let job = store.create("Rack of relays", "title = \"Rack of relays\"", "first", Moment(1_000))?;
//! assert_eq!(job.name, "rack-of-relays");
//! let saved = store.save(job.job, 1, "Rack of relays", "# fused\n", "saved", Moment(2_000))?;
//! assert_eq!(saved, Saved::As(2));
//! # drop(store);
//! # std::fs::remove_dir_all(folder).unwrap();
//! # Ok::<(), voltwright_workshop::StoreError>(())
//! ```

pub mod archive;
mod back_up;
mod check;
mod devices;
mod digests;
#[cfg(test)]
mod disk_full;
mod error;
mod hash;
mod ids;
mod jobs;
mod limits;
mod migrate;
mod moment;
mod name;
mod number;
mod open;
mod pictures;
mod revisions;
mod runs;
mod settings;
mod store;

pub use archive::ArchiveError;
pub use devices::Device;
pub use digests::Digest;
pub use error::StoreError;
pub use hash::Hash;
pub use ids::{DeviceId, EntryId, JobId, RunId};
pub use jobs::{Created, Listed};
pub use moment::Moment;
pub use pictures::{Image, Media, Picture};
pub use revisions::{Made, Revision, Saved};
pub use runs::{Entry, NewEntry, Run, Written};
pub use store::Store;
