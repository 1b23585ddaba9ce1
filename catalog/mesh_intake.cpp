// SPDX-License-Identifier: Apache-2.0
#include "catalog/mesh_intake.h"

#include "mesh/bad_input.h"
#include "mesh/measure_file.h"

namespace holdshelf {
Hold shelveMesh(const std::filesystem::path& library_folder, const std::filesystem::path& file,
                const IntakeLabels& labels, const Progress& progress) {
  if (Library::isIn(library_folder) && !labels.id.empty() &&
      Library::open(library_folder).has(labels.id))
    throw BadInput("There is a hold " + labels.id + " in " + library_folder.string() +
                   " already: choose another --id, or leave it out to get the next free one.");
  const PreparedMesh prepared = prepareMesh(file);
  FinishedScan finished = finishMesh(prepared.mesh, progress);
  for (const std::string& note : prepared.notes) finished.scan.mutable_shape()->add_notes(note);
  Library library = Library::openOrCreate(library_folder);
  return storeScan(library, std::move(finished), labels);
}

}  // namespace holdshelf
