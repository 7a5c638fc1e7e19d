//! The staff client's files are embedded: a new build of the client is a new build of the server.

fn main() {
    println!("cargo::rerun-if-changed=../../web-client/dist");
}
