// SPDX-License-Identifier: Apache-2.0
#include "catalog/mesh_intake.h"

#include <algorithm>
#include <array>

#include "catalog/colour.h"
#include "mesh/bad_input.h"
#include "mesh/measure_file.h"

namespace holdshelf {
namespace {

/// Median of each channel over the vertices.
Colour colourOf(const TriangleMesh& mesh) {
  std::array<double, 3> median{};
  std::vector<std::uint8_t> channel(mesh.colours.size());
  for (std::size_t c = 0; c < 3; ++c) {
    std::transform(mesh.colours.begin(), mesh.colours.end(), channel.begin(),
                   [c](const auto& rgb) { return rgb[c]; });
    const auto middle = channel.begin() + static_cast<std::ptrdiff_t>(channel.size() / 2);
    std::nth_element(channel.begin(), middle, channel.end());
    median[c] = *middle / 255.0;
  }
  return colourFromSrgb(median);
}

}  // namespace

Hold shelveMesh(const std::filesystem::path& library_folder, const std::filesystem::path& file,
                const IntakeLabels& labels, const std::string& colour, const Progress& progress) {
  if (Library::isIn(library_folder) && !labels.id.empty() &&
      Library::open(library_folder).has(labels.id))
    throw BadInput("There is a hold " + labels.id + " in " + library_folder.string() +
                   " already: choose another --id, or leave it out to get the next free one.");
  const PreparedMesh prepared = prepareMesh(file);
  FinishedScan finished = finishMesh(prepared.mesh, progress);
  if (!prepared.mesh.colours.empty()) *finished.scan.mutable_colour() = colourOf(prepared.mesh);
  for (const std::string& note : prepared.notes) finished.scan.mutable_shape()->add_notes(note);
  Library library = Library::openOrCreate(library_folder);
  Hold hold = storeScan(library, std::move(finished), labels);
  if (colour.empty()) return hold;
  Event event;
  event.set_hold(hold.id());
  event.mutable_edited()->add_fields("colour");
  event.mutable_edited()->set_colour(colour);
  library.commit({event});
  return library.hold(hold.id());
}

}  // namespace holdshelf
