//! Options that every command on the record shares.

use std::path::PathBuf;

use clap::Args;
use truerun::record::{NewTest, Record, TestKind, Water, default_record_path};
use truerun::{Error, Result};

use super::{terminal, values};

/// Which record.
#[derive(Args, Clone)]
pub struct RecordArg {
    /// The record's file [in your data folder]
    #[arg(long, global = true, value_name = "FILE")]
    record: Option<PathBuf>,
}

impl RecordArg {
    /// Its path.
    pub fn path(&self) -> Result<PathBuf> {
        self.record.clone().map_or_else(default_record_path, Ok)
    }

    /// The record, begun where there is none.
    pub fn open(&self) -> Result<Record> {
        Record::open(&self.path()?)
    }

    /// The record, which must be there.
    pub fn open_existing(&self) -> Result<Record> {
        Record::open_existing(&self.path()?)
    }
}

/// Saving a test to the record.
#[derive(Args)]
#[command(next_help_heading = "Record")]
pub struct SaveArgs {
    /// Save the test to the record, as one of this build
    #[arg(long, value_name = "BUILD")]
    save: Option<String>,
    #[command(flatten)]
    when_and_where: WhenAndWhere,
    #[command(flatten)]
    record: RecordArg,
}

/// What a test was done in.
#[derive(Args)]
pub struct WhenAndWhere {
    /// When it was done, as 2026-11-25 or 2026-11-25T14:30 [now]
    #[arg(long, value_name = "DAY")]
    when: Option<String>,
    /// Where it was done
    #[arg(long = "where", value_name = "PLACE")]
    place: Option<String>,
    /// Which water
    #[arg(long, value_parser = values::water, value_name = "fresh|salt")]
    water: Option<Water>,
    /// Temperature of the water, degrees Celsius
    #[arg(long, value_parser = values::water_c, value_name = "C", allow_hyphen_values = true)]
    water_temp: Option<f64>,
    /// How it was retrieved
    #[arg(long, value_name = "TEXT")]
    retrieve: Option<String>,
    /// A note
    #[arg(long, value_name = "TEXT")]
    note: Option<String>,
}

impl WhenAndWhere {
    /// As the library takes it.
    pub fn test(&self) -> NewTest {
        NewTest {
            when: self.when.clone(),
            place: self.place.clone(),
            water: self.water,
            water_c: self.water_temp,
            retrieve: self.retrieve.clone(),
            note: self.note.clone(),
        }
    }
}

impl SaveArgs {
    /// Which water was told, and its temperature, for commands that reckon with it.
    pub fn water(&self) -> (Option<Water>, Option<f64>) {
        (self.when_and_where.water, self.when_and_where.water_temp)
    }

    /// The record into which a test is to be saved: no result may take its place.
    pub fn record_path(&self) -> Option<PathBuf> {
        self.save.as_ref().and(self.record.path().ok())
    }

    /// As [`SaveArgs::ready`], for a command that has a use of its own for the water.
    pub fn ready_with_water(&self) -> Result<Option<Saving<'_>>> {
        let told = NewTest {
            water: None,
            water_c: None,
            ..self.when_and_where.test()
        };
        match self.save.is_none() && told == NewTest::default() {
            true => Ok(None),
            false => self.ready(),
        }
    }

    /// Opens the record where a test is to be saved, and sees that the build is there: before the long
    /// run, not after it.
    pub fn ready(&self) -> Result<Option<Saving<'_>>> {
        let Some(build) = &self.save else {
            return match self.when_and_where.test() == NewTest::default() {
                true => Ok(None),
                false => Err(Error::setting(
                    "--when, --where, --water, --water-temp, --retrieve, --note",
                    "are kept in the record, and nothing is saved",
                    "add --save BUILD",
                )),
            };
        };
        let record = self.record.open_existing().map_err(|e| match e {
            Error::Setting { option, what, .. } => Error::setting(
                option,
                what,
                "enter the lure and the build first: `truerun lure add --help`",
            ),
            other => other,
        })?;
        record.build(build)?;
        Ok(Some(Saving {
            record,
            build,
            args: self,
        }))
    }
}

/// A record ready to take a test.
pub struct Saving<'a> {
    record: Record,
    build: &'a str,
    args: &'a SaveArgs,
}

impl Saving<'_> {
    /// Saves the result (JSON text) and says so on standard error.
    pub fn save(mut self, kind: TestKind, result: &str, quiet: bool) -> Result<()> {
        let test = self.args.when_and_where.test();
        let id = self.record.save_test(self.build, kind, &test, result)?;
        if !quiet {
            terminal::say(&format!("Saved as test {id} of {}.\n", self.build));
        }
        Ok(())
    }
}
