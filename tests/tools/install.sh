#!/usr/bin/env bash
# What is installed works from where it was put: command, packs, library, headers, pkg-config file, manual, completion.
# Usage: install.sh BUILD_DIR TESTS_DIR CC FLAGS
set -euo pipefail
build=$1 tests=$2 cc=$3 flags=$4
prefix=$(mktemp -d)
trap 'rm -rf "$prefix"' EXIT
cmake --install "$build" --prefix "$prefix/first" >/dev/null
mv "$prefix/first" "$prefix/moved" # nothing may hang on the place it was installed to
cd "$prefix/moved"
libdir=$(dirname "$(find . -name 'corewright.pc' -path '*pkgconfig*')")/..
for file in bin/corewright include/corewright/corewright.h share/corewright/rules/charging-basics/pack.yaml \
    share/man/man1/corewright.1 share/bash-completion/completions/corewright "$libdir/libcorewright.so"; do
    [ -e "$file" ] || { echo "not installed: $file"; exit 1; }
done
unset COREWRIGHT_PACKS
# Their image was made on the spot, and is still good where all has moved to.
image=share/corewright/rules/charging-basics/pack+harbour-lane.image
[ -e "$image" ] || { echo "no image was made"; exit 1; }
./bin/corewright rules "$image" | grep -q 'no errors' || { echo "the image cannot be used"; exit 1; }
./bin/corewright rules --compile | grep -q 'is up to date' || { echo "the image is not used"; exit 1; }
# The packs beside the command are those taken: one that is put there is found.
mkdir -p "$prefix/moved/share/corewright/rules/zz-here"
printf 'pack: {name: zz-here, title: Put here by the test, version: 1}\n' >share/corewright/rules/zz-here/pack.yaml
./bin/corewright rules | grep -q 'Put here by the test' || { echo "the packs beside the command were not taken"; exit 1; }
rm -r share/corewright/rules/zz-here
./bin/corewright identify --json >/dev/null

export PKG_CONFIG_PATH="$libdir/pkgconfig"
# shellcheck disable=SC2046,SC2086
"$cc" -std=c17 -Wall -Wextra -Werror $flags "$tests/hello.c" $(pkg-config --cflags --libs corewright) -o hello
LD_LIBRARY_PATH="$libdir" ./hello share/corewright/rules/charging-basics
