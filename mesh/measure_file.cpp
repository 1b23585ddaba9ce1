// SPDX-License-Identifier: Apache-2.0
#include "mesh/measure_file.h"

#include "mesh/hold_frame.h"
#include "mesh/mesh_io.h"
#include "mesh/repair.h"

namespace holdshelf {

PreparedMesh prepareMesh(const std::filesystem::path& path, const MeasureFileOptions& options) {
  ReadOptions read;
  if (options.unit) read.unit_mm = millimetresIn(*options.unit);
  const TriangleMesh raw = readMesh(path, read);
  if (!options.unit) checkUnits(raw, path.string());
  Repaired repaired = repairMesh(raw);
  PreparedMesh out{std::move(repaired.mesh), std::move(repaired.notes)};
  if (options.unit && *options.unit != LengthUnit::kMillimetre)
    out.notes.emplace_back("Lengths were converted to millimetres as --units asked.");
  if (options.keep_frame) return out;
  HoldFrameOptions frame_options;
  frame_options.up_deg = options.up_deg;
  const HoldFrame frame = findHoldFrame(out.mesh, frame_options);
  if (frame.moved) out.mesh = moved(out.mesh, frame.T_hold_mesh);
  out.notes.insert(out.notes.end(), frame.notes.begin(), frame.notes.end());
  return out;
}

Shape measureFile(const std::filesystem::path& path, const MeasureFileOptions& options,
                  const Progress& progress) {
  const PreparedMesh prepared = prepareMesh(path, options);
  Shape shape = measureShape(prepared.mesh, options.measure, progress);
  for (const std::string& note : prepared.notes) shape.add_notes(note);
  return shape;
}

}  // namespace holdshelf
