//! A mail server that does as it is told, on a port of its own, for one connection after
//! another. It speaks enough of RFC 5321, 3207 and 4954 to be written to.

use std::net::SocketAddr;
use std::sync::{Arc, Mutex};
use tokio::io::{AsyncBufReadExt, AsyncRead, AsyncReadExt, AsyncWrite, AsyncWriteExt, BufReader};
use tokio::net::{TcpListener, TcpStream};
use tokio_rustls::TlsAcceptor;
use tokio_rustls::rustls::ServerConfig;
use tokio_rustls::rustls::pki_types::{CertificateDer, PrivatePkcs8KeyDer};

/// What the server does when its turn has come.
#[derive(Clone, Copy)]
pub enum Do {
    /// Answer.
    Say(&'static str),
    /// Answer one byte after another, this many milliseconds apart.
    Drip(&'static str, u64),
    /// Never answer, with the line open.
    Hang,
    /// Break the connection (TCP RST where it is not encrypted).
    Break,
}

/// What it does at each step.
#[derive(Clone)]
pub struct Script {
    pub greeting: Do,
    pub ehlo: Do,
    pub starttls: Do,
    pub auth: Do,
    pub mail: Do,
    pub rcpt: Do,
    pub data: Do,
    pub dot: Do,
    /// TLS from the first byte.
    pub tls_at_once: bool,
}

impl Default for Script {
    fn default() -> Self {
        Self {
            greeting: Do::Say("220 post.example ESMTP"),
            ehlo: Do::Say("250-post.example\r\n250-8BITMIME\r\n250 SIZE 10000000"),
            starttls: Do::Say("220 2.0.0 go ahead"),
            auth: Do::Say("235 2.7.0 welcome"),
            mail: Do::Say("250 2.1.0 ok"),
            rcpt: Do::Say("250 2.1.5 ok"),
            data: Do::Say("354 end with a dot"),
            dot: Do::Say("250 2.0.0 taken as 4711"),
            tls_at_once: false,
        }
    }
}

/// A running server.
pub struct Scripted {
    pub address: SocketAddr,
    /// The certificate it shows, PEM.
    pub certificate_pem: String,
    heard: Arc<Mutex<Heard>>,
    task: tokio::task::JoinHandle<()>,
}

/// What was said to it.
#[derive(Default, Clone)]
pub struct Heard {
    /// Commands, over all connections.
    pub commands: Vec<String>,
    /// Content of every letter that came to its final dot, with dots unstuffed.
    pub letters: Vec<Vec<u8>>,
    /// Connections taken.
    pub connections: usize,
}

impl Drop for Scripted {
    fn drop(&mut self) {
        self.task.abort();
    }
}

impl Scripted {
    pub async fn open(script: Script) -> Self {
        Self::open_named(script, "localhost").await
    }

    /// With a certificate for this name.
    pub async fn open_named(script: Script, name: &str) -> Self {
        let made = rcgen::generate_simple_self_signed(vec![name.to_owned()]).unwrap();
        let certificate_pem = made.cert.pem();
        let chain = vec![CertificateDer::from(made.cert.der().to_vec())];
        let key = PrivatePkcs8KeyDer::from(made.signing_key.serialize_der());
        let provider = Arc::new(tokio_rustls::rustls::crypto::ring::default_provider());
        let config = ServerConfig::builder_with_provider(provider)
            .with_safe_default_protocol_versions()
            .unwrap()
            .with_no_client_auth()
            .with_single_cert(chain, key.into())
            .unwrap();
        let acceptor = TlsAcceptor::from(Arc::new(config));

        let listener = TcpListener::bind("127.0.0.1:0").await.unwrap();
        let address = listener.local_addr().unwrap();
        let heard = Arc::new(Mutex::new(Heard::default()));
        let ears = Arc::clone(&heard);
        let task = tokio::spawn(async move {
            loop {
                let (stream, _) = listener.accept().await.unwrap();
                ears.lock().unwrap().connections += 1;
                let (script, acceptor, ears) = (script.clone(), acceptor.clone(), ears.clone());
                tokio::spawn(async move {
                    // A broken line is one of the things scripted, so its error is nothing.
                    let _ = serve(stream, script, acceptor, ears).await;
                });
            }
        });
        Self { address, certificate_pem, heard, task }
    }

    pub fn heard(&self) -> Heard {
        self.heard.lock().unwrap().clone()
    }
}

async fn serve(
    stream: TcpStream,
    script: Script,
    acceptor: TlsAcceptor,
    ears: Arc<Mutex<Heard>>,
) -> std::io::Result<()> {
    // So that dropping the stream sends RST, as a crashed host does.
    stream.set_zero_linger()?;
    if script.tls_at_once {
        let stream = acceptor.accept(stream).await?;
        talk(BufReader::new(stream), &script, &ears, true).await.map(|_| ())
    } else {
        match talk(BufReader::new(stream), &script, &ears, true).await? {
            Some(plain) => {
                let stream = acceptor.accept(plain.into_inner()).await?;
                talk(BufReader::new(stream), &script, &ears, false).await.map(|_| ())
            }
            None => Ok(()),
        }
    }
}

/// Until the end, or until TLS is to begin: then the stream is given back.
async fn talk<S: AsyncRead + AsyncWrite + Unpin>(
    mut line: BufReader<S>,
    script: &Script,
    ears: &Arc<Mutex<Heard>>,
    greets: bool,
) -> std::io::Result<Option<BufReader<S>>> {
    if greets && !act(&mut line, script.greeting).await? {
        return Ok(None);
    }
    loop {
        let mut command = String::new();
        if line.read_line(&mut command).await? == 0 {
            return Ok(None);
        }
        let command = command.trim_end().to_owned();
        ears.lock().unwrap().commands.push(command.clone());
        let word = command.split([' ', ':']).next().unwrap().to_ascii_uppercase();
        let turn = match word.as_str() {
            "EHLO" => script.ehlo,
            "STARTTLS" => {
                if act(&mut line, script.starttls).await?
                    && matches!(script.starttls, Do::Say(said) if said.starts_with("220"))
                {
                    return Ok(Some(line));
                }
                continue;
            }
            "AUTH" => script.auth,
            "MAIL" => script.mail,
            "RCPT" => script.rcpt,
            "DATA" => {
                if !act(&mut line, script.data).await? {
                    return Ok(None);
                }
                if matches!(script.data, Do::Say(said) if said.starts_with("354")) {
                    let letter = content(&mut line).await?;
                    ears.lock().unwrap().letters.push(letter);
                    if !act(&mut line, script.dot).await? {
                        return Ok(None);
                    }
                }
                continue;
            }
            "QUIT" => {
                act(&mut line, Do::Say("221 bye")).await?;
                return Ok(None);
            }
            _ => Do::Say("502 not that"),
        };
        if !act(&mut line, turn).await? {
            return Ok(None);
        }
    }
}

/// Lines up to the dot that stands alone (RFC 5321, 4.5.2).
async fn content<S: AsyncRead + Unpin>(line: &mut BufReader<S>) -> std::io::Result<Vec<u8>> {
    let mut letter = Vec::new();
    loop {
        let mut piece = Vec::new();
        if line.read_until(b'\n', &mut piece).await? == 0 {
            return Err(std::io::ErrorKind::UnexpectedEof.into());
        }
        if piece == b".\r\n" {
            return Ok(letter);
        }
        letter.extend_from_slice(piece.strip_prefix(b".").unwrap_or(&piece));
    }
}

/// Whether the talk goes on.
async fn act<S: AsyncRead + AsyncWrite + Unpin>(
    line: &mut BufReader<S>,
    turn: Do,
) -> std::io::Result<bool> {
    match turn {
        Do::Say(said) => {
            line.get_mut().write_all(format!("{said}\r\n").as_bytes()).await?;
            line.get_mut().flush().await?;
            Ok(true)
        }
        Do::Drip(said, millis) => {
            for byte in format!("{said}\r\n").bytes() {
                tokio::time::sleep(std::time::Duration::from_millis(millis)).await;
                line.get_mut().write_all(&[byte]).await?;
                line.get_mut().flush().await?;
            }
            Ok(true)
        }
        Do::Hang => {
            // Until the other side gives up and closes.
            let mut rest = Vec::new();
            let _ = line.read_to_end(&mut rest).await;
            Ok(false)
        }
        Do::Break => Ok(false),
    }
}
