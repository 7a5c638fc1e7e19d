//! The server's command line.

use std::path::PathBuf;
use std::process::ExitCode;

use bellbrace::check::{self, Looked};
use bellbrace::database::{DatabaseUrls, OpenDatabase};
use bellbrace::logging;
use bellbrace::settings::{Options, Settings};
use bellbrace::wiring::{self, NewPerson};
use clap::{Args, Parser, Subcommand};

/// A wrong setting or command line, as opposed to something that went wrong.
const MISTAKEN: u8 = 2;

/// A brass and woodwind repair shop's job board and customer-status service.
#[derive(Parser)]
#[command(name = "bellbrace", version, max_term_width = 100)]
struct CommandLine {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Run the server until it is told to stop
    Serve {
        #[command(flatten)]
        place: Place,
        /// Port to listen on, instead of the setting or 8470
        #[arg(long, value_name = "NUMBER")]
        port: Option<String>,
        /// Open a made-up shop to look at, in a data folder of its own
        #[arg(long)]
        demo: bool,
    },
    /// Bring the database to the schema this version knows
    Migrate {
        #[command(flatten)]
        place: Place,
    },
    /// Look at all settings and say what is wrong with them
    Check {
        #[command(flatten)]
        place: Place,
    },
    /// Add a member of the staff
    AddPerson {
        #[command(flatten)]
        place: Place,
        #[arg(long)]
        name: String,
        #[arg(long)]
        email: String,
        /// May be given more than once: one person may hold several roles
        #[arg(long = "role", required = true, value_parser = ["front_desk", "technician", "proprietor"])]
        roles: Vec<String>,
    },
}

#[derive(Args)]
struct Place {
    /// Folder for everything the server keeps
    #[arg(long, value_name = "FOLDER")]
    data: Option<PathBuf>,
    /// Settings file, instead of bellbrace.toml in the data folder
    #[arg(long, value_name = "FILE")]
    config: Option<PathBuf>,
}

impl Place {
    fn options(self) -> Options {
        Options { data: self.data, config: self.config, ..Options::default() }
    }
}

fn main() -> ExitCode {
    match CommandLine::parse().command {
        Command::Serve { place, port, demo } => {
            with_database(Options { port, demo, ..place.options() }, wiring::serve)
        }
        Command::Migrate { place } => with_database(place.options(), wiring::migrate),
        Command::Check { place } => look(&place.options()),
        Command::AddPerson { place, name, email, roles } => {
            let person = NewPerson { name, email, roles };
            with_database(place.options(), |settings, urls| {
                wiring::add_person(settings, urls, &person)
            })
        }
    }
}

/// Reads the settings, opens the database, does the work, closes the database.
fn with_database(
    options: Options,
    work: impl FnOnce(&Settings, &DatabaseUrls) -> Result<(), Box<dyn std::error::Error + Send + Sync>>,
) -> ExitCode {
    let settings = match judged(&options) {
        Ok(settings) => settings,
        Err(code) => return code,
    };
    logging::start(&settings.log);
    for warning in &settings.warnings {
        tracing::warn!("{warning}");
    }
    let database = match OpenDatabase::open(&settings) {
        Ok(database) => database,
        Err(fault) => {
            eprintln!("bellbrace: {fault}");
            return ExitCode::FAILURE;
        }
    };
    let outcome = work(&settings, database.urls());
    database.close();
    match outcome {
        Ok(()) => ExitCode::SUCCESS,
        Err(cause) => {
            eprintln!("bellbrace: {cause}");
            ExitCode::FAILURE
        }
    }
}

fn look(options: &Options) -> ExitCode {
    let settings = match judged(options) {
        Ok(settings) => settings,
        Err(code) => return code,
    };
    for warning in &settings.warnings {
        println!("doubtful {warning}");
    }
    let looked = check::look(&settings);
    for one in &looked {
        println!("{one}");
    }
    if looked.iter().any(Looked::is_wrong) { ExitCode::from(MISTAKEN) } else { ExitCode::SUCCESS }
}

fn judged(options: &Options) -> Result<Settings, ExitCode> {
    Settings::read(options).map_err(|faults| {
        eprintln!("bellbrace: the settings cannot be used:");
        for fault in faults {
            eprintln!("  {fault}");
        }
        ExitCode::from(MISTAKEN)
    })
}
