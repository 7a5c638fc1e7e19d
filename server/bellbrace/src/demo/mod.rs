//! The demo: two invented shops with open and closed orders, made through the same acts as real
//! work, so that nothing in them could not have happened in a real one.
//!
//! First the story of each shop is thought out (`past` and `present` tell visits by `telling`,
//! from a fixed seed, all dates relative to now), then it is played (`play`) at the instants the
//! story names. What happens is the same every time; ids, links and the password are not.
//!
//! The password is drawn anew for each installation, although everything in it is invented and
//! the server listens on this machine alone by default: people do show a demo to their network,
//! and a password that stands in a public repository would let anybody there write into it. It
//! costs nothing, because it is printed at every start and kept in a file only this account reads.
//!
//! A demo that was interrupted is not served: `demo-begun` is written first and `demo-made` last.

mod cast;
mod chance;
mod diary;
mod gauge;
mod jobs;
mod opening;
mod past;
mod pictures;
mod play;
mod present;
mod reminders;
mod roster;
mod story;
mod telling;

use std::collections::HashMap;
use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use acts::{Acts, Halt};
use opening::Opened;
use play::{Broken, Life, Stage};
use rand::RngExt;
use serde::{Deserialize, Serialize};
use store::{Store, one_time_links, shops};
use tokio::sync::Semaphore;
use tokio::task::JoinHandle;
use trade::words::stage::Role;

/// Written before anything is made.
const BEGUN: &str = "demo-begun";
/// Written when everything is made and on the disk.
const MADE: &str = "demo-made";
/// Who signs in how.
const SIGN_IN: &str = "demo-sign-in.json";
/// Visits that are played at once.
const AT_ONCE: usize = 8;
/// A line is printed after so many visits.
const TELL_EVERY: usize = 20;

/// How somebody signs in.
#[derive(Debug, Clone, Serialize, Deserialize)]
struct SignIn {
    email: String,
    password: String,
    roles: Vec<Role>,
    name: String,
    shop: String,
}

/// Opens the demo shops unless they were made already, writes who signs in how to
/// `demo-sign-in.json` in the data folder (readable by this account alone), and prints it.
///
/// # Errors
/// When the demo was interrupted before, when this is somebody's real shop, when the database
/// or the disk refuses.
pub async fn open(acts: &Acts, data: &Path, public_url: &str) -> Result<(), Broken> {
    let somebody_is_here = acts
        .store
        .directory(|conn| {
            Ok::<_, store::Error>(
                one_time_links::anybody_signs_in(conn)? || !shops::ids(conn)?.is_empty(),
            )
        })
        .await?;
    if somebody_is_here {
        refuse_half_made(data)?;
        if !data.join(MADE).exists() {
            return Err(format!(
                "{} holds a shop that is no demo. Start without --demo, or give another folder with --data",
                data.display()
            )
            .into());
        }
        let file = data.join(SIGN_IN);
        let sign_ins: Vec<SignIn> = fs::read(&file)
            .map_err(|cause| {
                format!(
                    "{} cannot be read ({cause}); remove {} and start again for a new demo",
                    file.display(),
                    data.display()
                )
            })
            .and_then(|bytes| {
                serde_json::from_slice(&bytes)
                    .map_err(|cause| format!("{} is broken ({cause})", file.display()))
            })?;
        print(&sign_ins, data, public_url);
        return Ok(());
    }
    #[expect(clippy::disallowed_methods, reason = "how long a person waits is no business instant")]
    let began = chrono::Utc::now();
    write(&data.join(BEGUN), b"The demo is being made.\n")?;
    let password = new_password();
    let quick = Acts { store: Store::new(&without_waiting(acts.store.url()), 10), ..acts.clone() };
    let mut opened = Vec::new();
    for (place, shop) in [&cast::MARLBECK, &cast::OSTWICK].into_iter().enumerate() {
        opened.push(opening::open(&quick, shop, place == 0, &password).await?);
    }
    let sign_ins: Vec<SignIn> = opened.iter().flat_map(|shop| shop.sign_ins.clone()).collect();
    let progress = Arc::new(Progress {
        over: AtomicUsize::new(0),
        total: opened.iter().map(|o| o.stage.story.visits.len()).sum(),
    });
    for shop in opened {
        play_out(shop, &progress).await?;
    }
    // A transaction that waits for the disk puts everything there that was committed before it.
    let to_disk: Result<(), Halt> = acts
        .store
        .directory(|conn| Ok(one_time_links::forget_unused(conn, "first_proprietor")?))
        .await;
    to_disk.map_err(|halt| format!("the demo shop could not be finished: {halt:?}"))?;
    let mut list = serde_json::to_vec_pretty(&sign_ins)?;
    list.push(b'\n');
    write(&data.join(SIGN_IN), &list)?;
    write(&data.join(MADE), b"The demo is complete.\n")?;
    #[expect(clippy::disallowed_methods, reason = "how long a person waits is no business instant")]
    let took = (chrono::Utc::now() - began).num_seconds();
    println!("The demo shop is made: {} orders in {took} s.", progress.total);
    print(&sign_ins, data, public_url);
    Ok(())
}

/// Refuses a folder in which a demo was begun and not finished.
///
/// # Errors
/// Says so, and what to do.
pub fn refuse_half_made(data: &Path) -> Result<(), Broken> {
    if data.join(BEGUN).exists() && !data.join(MADE).exists() {
        return Err(format!(
            "the demo was interrupted while it was made; remove {} and start again",
            data.display()
        )
        .into());
    }
    Ok(())
}

struct Progress {
    over: AtomicUsize,
    total: usize,
}

impl Progress {
    fn one_more(&self) {
        let over = self.over.fetch_add(1, Ordering::Relaxed) + 1;
        if over.is_multiple_of(TELL_EVERY) || over == self.total {
            println!("making the demo shop: {over} of {}", self.total);
        }
    }
}

/// Plays the story of one shop: check-ins one after another, so that claim numbers rise; what
/// follows of each visit beside the others; and the last days strictly in the order of the clock,
/// so that the newest live events are the newest things that happened.
async fn play_out(shop: Opened, progress: &Arc<Progress>) -> Result<(), Broken> {
    let (stage, cut) = (Arc::new(shop.stage), shop.cut);
    let visits = &stage.story.visits;
    let first_late = visits.partition_point(|visit| visit.came_at < cut);
    let permits = Arc::new(Semaphore::new(AT_ONCE));
    let mut under_way: HashMap<usize, JoinHandle<Result<Life, Broken>>> = HashMap::new();
    let mut last_of: HashMap<usize, usize> = HashMap::new();
    let mut lives: Vec<Life> = Vec::new();
    for (place, visit) in visits.iter().enumerate().take(first_late) {
        // An instrument that is still here cannot come again.
        if let Some(before) = last_of.insert(visit.instrument, place)
            && let Some(before) = under_way.remove(&before)
        {
            lives.push(before.await??);
        }
        let permit = Arc::clone(&permits).acquire_owned().await?;
        let mut life = stage.check_in(place).await?;
        let (stage, progress) = (Arc::clone(&stage), Arc::clone(progress));
        under_way.insert(
            place,
            tokio::spawn(async move {
                stage.live(&mut life, cut).await?;
                drop(permit);
                progress.one_more();
                Ok(life)
            }),
        );
    }
    for (_, life) in under_way {
        lives.push(life.await??);
    }
    play_the_last_days(&stage, lives, first_late, progress).await
}

async fn play_the_last_days(
    stage: &Stage,
    mut lives: Vec<Life>,
    first_late: usize,
    progress: &Progress,
) -> Result<(), Broken> {
    let mut late = (first_late..stage.story.visits.len()).peekable();
    loop {
        let next = lives
            .iter_mut()
            .filter_map(|life| stage.next_at(life).map(|at| (at, life)))
            .min_by_key(|(at, _)| *at);
        let arrives_at = late.peek().map(|place| stage.story.visits[*place].came_at);
        match (next, arrives_at) {
            (Some((at, life)), arrival) if arrival.is_none_or(|arrival| at <= arrival) => {
                stage.next(life).await?
            }
            (_, Some(_)) => {
                if let Some(place) = late.next() {
                    lives.push(stage.check_in(place).await?);
                    progress.one_more();
                }
            }
            (_, None) => return Ok(()),
        }
    }
}

/// The same database, with commits that do not wait for the disk one by one: a demo that the
/// power cuts short is thrown away anyhow, and one that is finished waits once at its end.
fn without_waiting(url: &str) -> String {
    if url.contains("options=") || !url.contains("://") {
        return url.to_owned();
    }
    let joint = if url.contains('?') { '&' } else { '?' };
    format!("{url}{joint}options=-csynchronous_commit%3Doff")
}

/// Twelve letters and digits that are not mistaken for one another: 59 random bits.
fn new_password() -> String {
    const LETTERS: &[u8; 31] = b"abcdefghjkmnpqrstuvwxyz23456789";
    let mut rng = rand::rng();
    let mut group = || {
        (0..4).map(|_| char::from(LETTERS[rng.random_range(0..LETTERS.len())])).collect::<String>()
    };
    format!("{}-{}-{}", group(), group(), group())
}

/// Writes a file that only this account reads, whole or not at all.
fn write(file: &Path, bytes: &[u8]) -> io::Result<()> {
    let new = file.with_extension("new");
    let mut opened =
        OpenOptions::new().write(true).create(true).truncate(true).mode(0o600).open(&new)?;
    opened.write_all(bytes)?;
    opened.sync_all()?;
    fs::rename(&new, file)
}

fn print(sign_ins: &[SignIn], data: &Path, public_url: &str) {
    let Some(first) = sign_ins.first() else { return };
    println!("\n{} is open at {public_url}", first.shop);
    println!("Sign in with the password {} as", first.password);
    let mut seen: Vec<&[Role]> = Vec::new();
    for one in sign_ins.iter().filter(|one| one.shop == first.shop) {
        if !seen.contains(&one.roles.as_slice()) {
            seen.push(&one.roles);
            let roles: Vec<String> =
                one.roles.iter().map(|role| role.to_string().replace('_', " ")).collect();
            println!("  {:32} {} ({})", one.email, one.name, roles.join(" and "));
        }
    }
    if let Some(other) = sign_ins.iter().find(|one| one.shop != first.shop) {
        println!(
            "{}, a second shop that sees nothing of the first:\n  {:32} {}",
            other.shop, other.email, other.name
        );
    }
    println!(
        "Everybody is in {}; letters to customers arrive in {}.\n",
        data.join(SIGN_IN).display(),
        data.join("mailbox").display()
    );
}
