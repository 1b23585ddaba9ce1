#!/usr/bin/env bash
# SPDX-License-Identifier: Apache-2.0
# docs_test.sh PROGRAM SOURCE [DOCUMENT...]: the documents' links lead somewhere and their commands run (what they
# show as printed is not compared).
#   Every relative link leads somewhere, to a heading where it names one.
#   Every `holdshelf` command in a fenced block is run, block after block, as a reader would, in an empty
#   folder of the document's own. What a reader brings along is prepared by lines
#   <!-- run: COMMAND -->, which no reader sees; a block below <!-- not run: REASON --> is left alone.
set -euo pipefail

program=$(realpath "$1") source=$(realpath "$2")
shift 2
documents=("$@")
[ $# -gt 0 ] || mapfile -t documents < <(cd "$source" && find . -name '*.md' -not -path './build*' \
  -not -path './.git/*' -not -path '*/node_modules/*' | sed 's|^\./||' | sort)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
failed=0
complain() { echo "docs_test: $*" >&2; failed=1; }

# The anchor that a heading gets, as common hosts make it.
anchors() {
  sed -n 's/^#\{1,6\} //p' "$1" | tr '[:upper:]' '[:lower:]' | sed 's/[^a-z0-9 _-]//g; s/ /-/g'
}

check_links() {
  local document=$1 link file anchor
  while read -r link; do
    case $link in http:* | https:* | mailto:*) continue ;; esac
    file=${link%%#*} anchor=
    [[ $link == *#* ]] && anchor=${link#*#}
    local target=$source/$document
    [ -z "$file" ] || target=$(dirname "$source/$document")/$file
    [ -e "$target" ] || { complain "$document links to $link, which is not there"; continue; }
    [ -z "$anchor" ] || anchors "$target" | grep -qx -- "$anchor" ||
      complain "$document links to $link, but there is no such heading"
  done < <(awk '/^```/ { inside = !inside } !inside' "$source/$document" |
    grep -oE '\]\([^) ]+\)' | sed 's/^](//; s/)$//')
}

# A script of the document's commands; nothing where it has none.
script_of() {
  awk '
    /^<!-- run: .* -->$/ { sub(/^<!-- run: /, ""); sub(/ -->$/, ""); print; next }
    /^<!-- not run: / { skip = 1; next }
    /^```/ { inside = !inside; if (!inside) skip = 0; next }
    inside && !skip && (going || /^holdshelf /) { print; going = /\\$/ }
  ' "$source/$1"
}

run_commands() {
  local document=$1 place=$work/place
  [ -n "$(script_of "$document")" ] || return 0
  rm -rf "$place"
  mkdir -p "$place/photos"
  cp "$source/testdata/demo/gym.json" "$place"
  {
    echo 'set -euo pipefail'
    echo "source '$source/tests/docs/evening.sh'"
    script_of "$document"
  } > "$work/script"
  (cd "$place" && env HOLDSHELF_WHO=clerk DEMO="$source/testdata/demo" EVENING_LIBRARY="$work/evening" \
    XDG_CACHE_HOME="$work/cache" PATH="$(dirname "$program"):$PATH" \
    bash -x "$work/script" > "$work/out" 2> "$work/err" < /dev/null) ||
    complain "$document: a command failed: $(tail -5 "$work/err")"
}

for document in "${documents[@]}"; do
  check_links "$document"
  run_commands "$document"
done
[ $failed -eq 0 ] && echo "docs_test: ${#documents[@]} documents hold"
exit $failed
