# What a build and the checks need from the machine. Sourced by `coatwright`, `test`, `check` and `bench`.
#
# On Debian and Ubuntu missing packages are installed with apt-get, as root or through sudo.
# Elsewhere a message names what is missing.

say() { printf '%s\n' "$*" >&2; }

die() {
    say "$@"
    exit 1
}

has() { command -v "$1" >/dev/null 2>&1; }

# libclang.so is looked for where the binding generator looks: LIBCLANG_PATH, the linker's list, LLVM's folders.
has_libclang() {
    [ -n "${LIBCLANG_PATH:-}" ] && return 0
    local found
    found="$({ ldconfig -p || /sbin/ldconfig -p; } 2>/dev/null | grep -E 'libclang(-[0-9.]+)?\.so' || true)"
    [ -n "$found" ] && return 0
    compgen -G '/usr/lib/llvm-*/lib/libclang*.so*' >/dev/null && return 0
    compgen -G '/usr/lib*/libclang*.so*' >/dev/null && return 0
    compgen -G '/Library/Developer/CommandLineTools/usr/lib/libclang.dylib' >/dev/null && return 0
    compgen -G '/Applications/Xcode.app/Contents/Developer/Toolchains/XcodeDefault.xctoolchain/usr/lib/libclang.dylib' \
        >/dev/null
}

has_cxx() { has c++ && has cc; }

has_venv() { python3 -c 'import ensurepip, venv' >/dev/null 2>&1; }

# The programs, not the service: the tests start a server of their own.
has_postgres() { has initdb || compgen -G '/usr/lib/postgresql/*/bin/initdb' >/dev/null; }

has_need() {
    case "$1" in
        c++) has_cxx ;;
        libclang) has_libclang ;;
        venv) has_venv ;;
        pdftotext) has pdftotext && has pdftoppm ;;
        postgresql) has_postgres ;;
        *) has "$1" ;;
    esac
}

name_of_need() {
    case "$1" in
        c++) echo "a C and C++ compiler" ;;
        libclang) echo "libclang (the shared library of Clang)" ;;
        venv) echo "Python 3.11 or later with its venv module" ;;
        pdftotext) echo "pdftotext and pdftoppm (poppler-utils)" ;;
        postgresql) echo "PostgreSQL's programs (initdb, pg_ctl, postgres)" ;;
        node) echo "Node.js 18 or later" ;;
        chromium) echo "Chromium" ;;
        *) echo "$1" ;;
    esac
}

# libclang1-14 where the distribution has it, else the newest that it has.
libclang_package() {
    if apt-cache show libclang1-14 >/dev/null 2>&1; then
        echo libclang1-14
        return
    fi
    local newest
    newest="$(apt-cache search --names-only '^libclang1-[0-9]+$' | awk '{ print $1 }' | sort -t- -k2 -n | tail -n 1)"
    echo "${newest:-libclang-dev}"
}

package_of_need() {
    case "$1" in
        c++) echo g++ ;;
        libclang) libclang_package ;;
        venv) echo python3-venv ;;
        pdftotext) echo poppler-utils ;;
        node) echo nodejs ;;
        *) echo "$1" ;;
    esac
}

# Debian's package makes a database and starts it as a service. Nothing here needs that: where PostgreSQL was never
# set up, it is told to leave it.
no_database_service() {
    local settings=/etc/postgresql-common
    [ -e "$settings" ] && return 0
    as_root mkdir -p "$settings" || return 0
    printf '%s\n' '# Written by the tests of Coatwright: no database and no service by itself.' \
        'create_main_cluster = false' | as_root tee "$settings/createcluster.conf" >/dev/null || true
}

as_root() {
    if [ "$(id -u)" = 0 ]; then
        "$@"
    elif has sudo; then
        # A password can be asked for only where somebody is there to give it.
        if [ -t 0 ]; then sudo "$@"; else sudo -n "$@"; fi
    else
        return 1
    fi
}

# need WORD...: sees to it that each is on the machine.
need() {
    local missing=() still=() n log
    for n in "$@"; do has_need "$n" || missing+=("$n"); done
    [ "${#missing[@]}" = 0 ] && return 0
    if has apt-get && { [ "$(id -u)" = 0 ] || has sudo; }; then
        say "Installing what is missing with apt-get: ${missing[*]}"
        log="$(mktemp)"
        as_root env DEBIAN_FRONTEND=noninteractive apt-get update -q >"$log" 2>&1 || true
        local packages=()
        for n in "${missing[@]}"; do packages+=("$(package_of_need "$n")"); done
        case " ${missing[*]} " in *" postgresql "*) no_database_service ;; esac
        if ! as_root env DEBIAN_FRONTEND=noninteractive \
            apt-get install -y -q --no-install-recommends "${packages[@]}" >>"$log" 2>&1; then
            say "apt-get could not install ${packages[*]}. It said:"
            tail -n 15 "$log" >&2
        fi
        rm -f "$log"
        hash -r
    fi
    for n in "${missing[@]}"; do has_need "$n" || still+=("$n"); done
    [ "${#still[@]}" = 0 ] && return 0
    say "Coatwright cannot be built and checked here yet. Please install, then run this again:"
    for n in "${still[@]}"; do say "  - $(name_of_need "$n")"; done
    if has brew; then
        say "With Homebrew: brew install cmake llvm pkg-config python poppler postgresql openssl node chromium"
    elif has dnf; then
        say "On Fedora: sudo dnf install gcc-c++ make cmake clang-libs pkgconf python3 poppler-utils postgresql-server openssl nodejs npm chromium"
    elif has pacman; then
        say "On Arch: sudo pacman -S base-devel cmake clang python poppler postgresql openssl nodejs npm chromium"
    elif has apt-get; then
        say "As root: apt-get install g++ make cmake libclang1-14 pkg-config python3-venv poppler-utils postgresql openssl nodejs npm chromium"
    fi
    exit 1
}

# The oldest Rust that the workspace builds with stands in Cargo.toml.
need_rust() {
    local root="$1" want have
    # rustup puts cargo here; a shell opened before its installation does not know yet.
    if ! has cargo && [ -x "${CARGO_HOME:-$HOME/.cargo}/bin/cargo" ]; then
        PATH="${CARGO_HOME:-$HOME/.cargo}/bin:$PATH"
    fi
    want="$(sed -n 's/^rust-version = "\(.*\)"/\1/p' "$root/Cargo.toml")"
    has cargo || die "Coatwright is written in Rust and cargo is not on this machine." \
        "Install the stable Rust toolchain, $want or later, with rustup, then run this again."
    have="$(cargo --version | awk '{ print $2 }')"
    if [ "$(printf '%s\n%s\n' "$want" "${have%%-*}" | sort -V | head -n 1)" != "$want" ]; then
        die "Coatwright needs Rust $want or later, this machine has $have." \
            "Run 'rustup update stable', or install rustup if cargo came with the system."
    fi
}

need_rust_component() {
    cargo "$1" --version >/dev/null 2>&1 && return 0
    if has rustup; then
        say "Adding $2 to the Rust toolchain"
        rustup component add "$2" >/dev/null 2>&1 || true
    fi
    cargo "$1" --version >/dev/null 2>&1 || die "The checks need 'cargo $1': add the component $2 to the Rust toolchain."
}

# step NAME COMMAND...: runs it, and says where it failed.
step() {
    local name="$1"
    shift
    say ""
    say "== $name: $*"
    local begin=$SECONDS
    "$@" || {
        say ""
        say "FAILED at $name, after $((SECONDS - begin)) s: $*"
        exit 1
    }
    say "== $name passed, $((SECONDS - begin)) s"
}

# Where cargo puts what it builds.
target_dir() {
    local t="${CARGO_TARGET_DIR:-$1/target}"
    case "$t" in /*) echo "$t" ;; *) echo "$PWD/$t" ;; esac
}
