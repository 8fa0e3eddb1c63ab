//! What is read of the machine: how long its disk takes, and what the server uses.

use std::fs::{self, File};
use std::io::{self, Seek, SeekFrom, Write};
use std::path::Path;
use std::time::{Duration, Instant};

/// What one write of the journal puts on disk at the least.
const PAGE: [u8; 4096] = [7; 4096];
/// Enough for a 99th percentile that rests on five of them.
const SYNCS: usize = 500;

/// How long it takes to write 4 KiB and have them on disk, time after time, in a folder.
pub(crate) fn fdatasync(folder: &Path) -> io::Result<Vec<Duration>> {
    let path = folder.join("fdatasync");
    let mut file = File::create(&path)?;
    let mut times = Vec::with_capacity(SYNCS);
    for _ in 0..SYNCS {
        let began = Instant::now();
        file.seek(SeekFrom::Start(0))?;
        file.write_all(&PAGE)?;
        file.sync_data()?;
        times.push(began.elapsed());
    }
    fs::remove_file(path)?;
    Ok(times)
}

/// Processor time that a process has used, in all its threads.
pub(crate) fn cpu_time(pid: u32) -> io::Result<Duration> {
    // Nanoseconds on a processor are the first number of each thread's schedstat (proc(5)).
    let mut nanos = 0;
    for thread in fs::read_dir(format!("/proc/{pid}/task"))? {
        let stat = fs::read_to_string(thread?.path().join("schedstat"))?;
        let first =
            stat.split_ascii_whitespace().next().and_then(|first| first.parse::<u64>().ok());
        nanos += first.ok_or(io::ErrorKind::InvalidData)?;
    }
    Ok(Duration::from_nanos(nanos))
}

/// Memory of a process that is in RAM, in KiB.
pub(crate) fn resident_kib(pid: u32) -> io::Result<u64> {
    let status = fs::read_to_string(format!("/proc/{pid}/status"))?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmRSS:"));
    let number = line.and_then(|line| line.trim().strip_suffix(" kB")?.parse().ok());
    number.ok_or_else(|| io::ErrorKind::InvalidData.into())
}
