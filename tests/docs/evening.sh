# SPDX-License-Identifier: Apache-2.0
# The demo's ready-made holds into ./library, as catalog/demo.sh takes them; sourced by docs_test.sh.
# Measured once, in $EVENING_LIBRARY, for all documents.
make_evening() {
  local number=11 hold
  for hold in "quay_crimp A3" "pier_crimp B1" "slipway_jug B2" "bollard_high B1" "bollard_low B1" \
    "gravel_step A3" "shingle_chip A3" "buoy B2"; do
    holdshelf shelve --library "$EVENING_LIBRARY" --id "H-00$number" --name "${hold% *}" \
      --bin "${hold#* }" --set Evening --colour green "$DEMO/evening/${hold% *}.ply"
    number=$((number + 1))
  done
}

shelve_evening() {
  [ -d "$EVENING_LIBRARY" ] || make_evening
  if [ -d library ]; then holdshelf merge "$EVENING_LIBRARY"; else cp -r "$EVENING_LIBRARY" library; fi
}
