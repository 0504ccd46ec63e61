# Shared by ./run and ./test: what the build needs, and where it is cached.

cd "$(dirname "${BASH_SOURCE[0]}")/.." || exit 1

cache=${XDG_CACHE_HOME:-$HOME/.cache}/linkwright
if [ -n "${CI:-}" ]; then
    # A checkout of continuous integration is thrown away; the build cache outlives it.
    export CARGO_TARGET_DIR=${CARGO_TARGET_DIR:-$cache/target}
fi
target=${CARGO_TARGET_DIR:-target}

# need COMMAND-OR-FILE PACKAGE ...: every one that is missing is fetched as its Debian package, as root or with sudo;
# elsewhere the list is printed and nothing goes on.
need() {
    local missing=()
    while [ $# -gt 0 ]; do
        command -v "$1" >/dev/null 2>&1 || [ -f "$1" ] || missing+=("$2")
        shift 2
    done
    fetch "${missing[@]}"
}

fetch() {
    [ $# -gt 0 ] || return 0
    if command -v apt-get >/dev/null 2>&1 && [ "$(id -u)" = 0 ]; then
        apt-get update -qq && apt-get install -y -qq "$@"
    elif command -v apt-get >/dev/null 2>&1 && command -v sudo >/dev/null 2>&1; then
        sudo apt-get update -qq && sudo apt-get install -y -qq "$@"
    else
        echo "These are needed and not there: $*. Install them and start again." >&2
        exit 1
    fi
}

if ! command -v cargo >/dev/null 2>&1; then
    echo "Rust is needed and not there: install the stable toolchain, then start again." >&2
    exit 1
fi
need cc gcc

# What linkwright-solve is built with: HiGHS is C++, and its Rust bindings are made from its header.
need_for_solver() {
    need c++ g++ cmake cmake
    compgen -G '/usr/lib/llvm-*/lib/libclang*.so*' >/dev/null || compgen -G '/usr/lib/*/libclang*.so*' >/dev/null || fetch libclang1
}

# A browser, and what drives it: fetched once for each lock.
need_browser() {
    need chromium chromium node nodejs npm npm
    modules=browser/node_modules
    cmp -s browser/package-lock.json "$modules/.for-this-lock" && return
    # The lock names no registry, so that of the user's own settings is asked; hashes are checked all the same.
    npm ci --prefix browser --no-audit --no-fund --silent 2>/dev/null || npm install --prefix browser --no-save --no-audit --no-fund --silent
    cp browser/package-lock.json "$modules/.for-this-lock"
}
