# What a checkout needs before it can be built, started or tested. Sourced by
# deploy/start and tests/run, with the root of the checkout as current folder.
# Nothing that is already there is touched.

: "${HOME:=$(cd ~ && pwd)}"
cache=${XDG_CACHE_HOME:-$HOME/.cache}/bellbrace
CARGO_TARGET_DIR=${CARGO_TARGET_DIR:-$cache/target}
export CARGO_TARGET_DIR

say() {
    printf 'bellbrace: %s\n' "$*" >&2
}

fail() {
    say "$*"
    exit 1
}

# at_least HAVE WANTED: compares the first two numbers of two versions.
at_least() {
    have_major=${1%%.*} have_rest=${1#*.}
    want_major=${2%%.*} want_rest=${2#*.}
    [ "$have_major" -gt "$want_major" ] ||
        { [ "$have_major" -eq "$want_major" ] && [ "${have_rest%%.*}" -ge "${want_rest%%.*}" ]; }
}

need_rust() {
    command -v cargo >/dev/null || PATH=$HOME/.cargo/bin:$PATH
    command -v cargo >/dev/null ||
        fail "Rust 1.95 or newer is needed to build the server. Install it from https://rustup.rs and start again."
    found=$(cargo --version | cut -d ' ' -f 2)
    at_least "$found" 1.95 ||
        fail "Rust $found is too old; 1.95 or newer is needed. Run: rustup update stable"
}

need_node() {
    { command -v node && command -v npm; } >/dev/null ||
        fail "Node.js 20 or newer, with npm, is needed to build the web client. Install it from https://nodejs.org and start again."
    found=$(node --version | cut -c 2-)
    at_least "$found" 20.0 ||
        fail "Node.js $found is too old; 20 or newer is needed. Install it from https://nodejs.org and start again."
}

wanted=
reasons=

# want PACKAGE WHY TEST...: notes a package of Debian's unless the test succeeds.
want() {
    package=$1 why=$2
    shift 2
    "$@" >/dev/null 2>&1 && return
    wanted="$wanted $package"
    reasons="$reasons
  $package: $why"
}

has_c_library() {
    # Without one the compiler answers with the bare name, which is no file.
    [ "$(uname)" = Darwin ] || [ -e "$(cc -print-file-name=crt1.o)" ]
}

has_certificates() {
    [ -e /etc/ssl/certs/ca-certificates.crt ] || [ -e /etc/ssl/cert.pem ] ||
        [ -e /etc/pki/tls/certs/ca-bundle.crt ]
}

has_libpq() {
    [ -e "$(pg_config --libdir)/libpq.so" ] || [ -e "$(pg_config --libdir)/libpq.dylib" ]
}

has_postgresql() {
    for major in 15 16 17 18; do
        for folder in "/usr/lib/postgresql/$major/bin" "/usr/pgsql-$major/bin" \
            "/opt/homebrew/opt/postgresql@$major/bin" "/usr/local/opt/postgresql@$major/bin"; do
            [ -x "$folder/initdb" ] && return
        done
    done
    command -v initdb && at_least "$(initdb --version | sed 's/[^0-9]*\([0-9]*\).*/\1.0/')" 15.0
}

# What building and running need; a database named in the settings still needs
# libpq, but no PostgreSQL here.
want_for_the_server() {
    # Homebrew leaves these off the path, and the build asks pg_config.
    for folder in /opt/homebrew/opt/postgresql@*/bin /usr/local/opt/postgresql@*/bin; do
        [ -d "$folder" ] && PATH=$PATH:$folder
    done
    want gcc "to link the server" command -v cc
    want libc6-dev "to link the server" has_c_library
    want libpq-dev "to reach PostgreSQL" has_libpq
    want ca-certificates "to trust mail servers, and to fetch what is built" has_certificates
    [ -n "${DATABASE_URL:-}" ] ||
        want postgresql "the database; the server runs it in its own data folder" has_postgresql
}

install_wanted() {
    [ -n "$wanted" ] || return 0
    if [ "$(uname)" = Darwin ]; then
        case $wanted in *gcc*) say "a compiler is missing; run: xcode-select --install" ;; esac
        case $wanted in *postgresql* | *libpq*) say "PostgreSQL is missing; run: brew install postgresql@17" ;; esac
        fail "then start again. Missing, by Debian's names:$wanted"
    fi
    command -v apt-get >/dev/null ||
        fail "these are missing, by Debian's names; install them and start again:$reasons"
    if [ "$(id -u)" -eq 0 ]; then
        as_root=
    elif command -v sudo >/dev/null; then
        as_root=sudo
    else
        fail "these packages are missing:$reasons
Let root run: apt-get install --no-install-recommends$wanted"
    fi
    say "installing with ${as_root:+sudo }apt-get:$reasons"
    case " $wanted " in *" postgresql "*) without_the_systems_cluster install_packages ;; *) install_packages ;; esac
    wanted=
    reasons=
}

install_packages() {
    mkdir -p "$cache"
    # shellcheck disable=SC2086 # Several words on purpose, here and in $as_root.
    if ! {
        $as_root apt-get update -qq &&
            $as_root env DEBIAN_FRONTEND=noninteractive \
                apt-get install -qq -y --no-install-recommends $wanted
    } >"$cache/apt-get.log" 2>&1; then
        tail -n 30 "$cache/apt-get.log" >&2
        fail "apt-get could not install$wanted (see above, and $cache/apt-get.log)"
    fi
}

# Debian's package makes and starts a PostgreSQL of the system's own, which
# nobody here needs. It asks this folder first (pg_createcluster(8)); our note is
# taken away again, so that whoever installs another version later is not
# surprised.
without_the_systems_cluster() {
    folder=/etc/postgresql-common/createcluster.d
    note=$folder/bellbrace.conf
    made=$([ -d $folder ] || echo yes)
    $as_root mkdir -p $folder
    echo 'create_main_cluster = false' | $as_root tee $note >/dev/null
    # In a shell of its own, because it may end by failing.
    ("$@")
    outcome=$?
    $as_root rm -f $note
    [ -z "$made" ] || $as_root rmdir $folder
    [ $outcome -eq 0 ] || exit $outcome
}

# A number that changes with the content or the name of any of the files below.
state_of() {
    find "$@" -name node_modules -prune -o -name dist -prune -o -type f -print |
        LC_ALL=C sort | tr '\n' '\0' | xargs -0 cksum | cksum
}

# install_npm FOLDER: npm ci, unless what the lock says is installed already.
# npm ci begins by removing node_modules, and with it the notes kept there.
install_npm() {
    lock_state="$(cksum <"$1/package-lock.json") $(node --version)"
    [ "$(cat "$1/node_modules/.installed-from" 2>/dev/null)" = "$lock_state" ] && return
    need_node
    say "fetching what $1 is built from"
    (cd "$1" && npm ci --no-audit --no-fund --loglevel=error >&2) || return
    printf '%s' "$lock_state" >"$1/node_modules/.installed-from"
}

# Builds the web client into web-client/dist, from where it goes into the server,
# unless it is there and nothing it is made of has changed.
build_client() {
    if [ ! -e web-client/package.json ]; then
        mkdir -p web-client/dist
        return
    fi
    client_state=$(state_of web-client api-spec)
    [ -e web-client/dist/index.html ] &&
        [ "$(cat web-client/node_modules/.built-from 2>/dev/null)" = "$client_state" ] && return
    need_node
    install_npm web-client || return
    # A build that fails half-way must not pass for the one before it.
    rm -f web-client/node_modules/.built-from
    say "building the web client"
    (cd web-client && npm run --silent build >&2) || return
    printf '%s' "$client_state" >web-client/node_modules/.built-from
}
