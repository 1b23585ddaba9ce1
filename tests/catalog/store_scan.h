// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

#include "catalog/library.h"
#include "catalog/twins.h"
#include "mesh/mesh_io.h"
#include "mesh/signature.h"

namespace holdshelf::test {

/// A hold on the shelf with one scan of this mesh, as far as twins are looked for by it.
inline void storeScan(Library& library, const std::string& id, const TriangleMesh& mesh) {
  const Signature signature = signatureOf(mesh);
  const PackedSignature packed = packSignature(signature);
  Event made, scanned;
  made.set_hold(id);
  made.mutable_created()->set_status(SHELF);
  scanned.set_hold(id);
  scanned.mutable_scanned()->set_id(id);
  scanned.mutable_scanned()->set_mesh_blob(library.blobs().put(plyBytes(mesh)));
  scanned.mutable_scanned()->set_signature(packed.data(), packed.size());
  scanned.mutable_scanned()->set_size_mm(signature.size_mm);
  library.commit({made, scanned});
}

}  // namespace holdshelf::test
