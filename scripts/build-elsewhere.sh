#!/usr/bin/env bash
# Builds the core rooms where they must also work, and runs their tests there:
#   wasm      emscripten; the tests run under node
#   windows   mingw-w64 (g++); the tests run under wine
# Not part of ./check.sh: the compilers take some 2 GB. On Debian 12 it installs them.
#
# Usage: scripts/build-elsewhere.sh [wasm] [windows]      (default: both)
set -euo pipefail
cd "$(dirname "$0")/.."
root=$PWD
jobs=${JOBS:-$(nproc)}
[ $# -gt 0 ] || set -- wasm windows

scripts/install-packages.sh build test elsewhere

# The system's include folder would bring the host's C library along; link what is headers only.
headers=$root/build/elsewhere/headers
mkdir -p "$headers"
for library in eigen3/Eigen eigen3/unsupported boost fmt tl fast_float nlohmann toml++; do
  ln -sfn "/usr/include/$library" "$headers/$(basename "$library")"
done

common=(-G Ninja -DCMAKE_BUILD_TYPE=Release -DLEAFWRIGHT_EDGE=OFF -DLEAFWRIGHT_TESTS=ON
        "-DLEAFWRIGHT_HEADERS=$headers")

failed=0
build_and_test() {
  cmake --build "build/elsewhere/$1" -j "$jobs" &&
    ctest --test-dir "build/elsewhere/$1" -j "$jobs" --output-on-failure --no-tests=error ||
    failed=$((failed + 1))
}

for target in "$@"; do
  printf '\n== %s\n' "$target"
  case "$target" in
    wasm)
      export NODE_PATH=/usr/share/nodejs  # emscripten's own tools, whichever node is in use
      # The tests read data files (NODERAWFS) and check that broken promises throw (-fexceptions).
      # This emscripten would fetch() its own file, which node has since given another meaning:
      # compile without waiting instead. -O1 links quickly and leaves the script readable.
      cmake -S . -B build/elsewhere/wasm "${common[@]}" \
        -DCMAKE_TOOLCHAIN_FILE=/usr/share/emscripten/cmake/Modules/Platform/Emscripten.cmake \
        -DCMAKE_CXX_FLAGS=-fexceptions \
        -DCMAKE_EXE_LINKER_FLAGS="-O1 -sNODERAWFS=1 -sALLOW_MEMORY_GROWTH=1 \
-sEXIT_RUNTIME=1 -sWASM_ASYNC_COMPILATION=0"
      build_and_test wasm
      ;;
    windows)
      export WINEPREFIX=$root/build/elsewhere/wine WINEDEBUG=-all
      wine=$(command -v wine64 || command -v wine || echo /usr/lib/wine/wine64)
      "$wine" cmd /c exit  # sets up its folder once, before tests start it side by side
      cmake -S . -B build/elsewhere/windows "${common[@]}" \
        -DCMAKE_SYSTEM_NAME=Windows -DCMAKE_CXX_COMPILER=x86_64-w64-mingw32-g++-posix \
        -DCMAKE_C_COMPILER=x86_64-w64-mingw32-gcc-posix \
        -DCMAKE_CROSSCOMPILING_EMULATOR="$wine" \
        -DCMAKE_EXE_LINKER_FLAGS=-static
      build_and_test windows
      ;;
    *)
      echo "unknown target $target; known: wasm windows" >&2
      exit 2
      ;;
  esac
done
echo
echo "elsewhere: $(($# - failed)) passed, $failed failed"
[ "$failed" -eq 0 ]
