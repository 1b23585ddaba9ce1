// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <memory>
#include <optional>

#include "mesh/bad_input.h"
#include "mesh/progress.h"
#include "mesh/triangle_mesh.h"
#include "proto/shape.pb.h"

namespace holdshelf {

/// How a hold is measured. Every default is a judgement that can be set; the definitions are in
/// mesh/README.md.
struct MeasureOptions {
  // What is measured.
  double rotation_step_deg = 5;  ///< Between those at which grips are looked for; must divide 360.
  double finger_mm = 16;         ///< Diameter that must come in from outside; also finger pitch.
  double contact_mm = 20;        ///< Of grip face behind the lip, over which the incut is fitted.
  /// The depth that edge widths hold for: this share of the best section's depth, or, when
  /// width_depth_mm > 0, that many millimetres (where the best section is at least as deep).
  double width_depth_share = 0.8;
  double width_depth_mm = 0;
  double smallest_depth_mm = 2;  ///< Shallower steps are texture.
  double smallest_width_mm = 5;  ///< Narrower runs are corners.
  /// Measures in the section at this sideways offset (to the climber's right of the origin) instead
  /// of at the best place of each rotation.
  std::optional<double> at_offset_mm = std::nullopt;
  /// Standard uncertainty of a vertex where the mesh brings none; 0: estimated from the mesh's own
  /// roughness and resolution.
  double sigma_mm = 0;
  // How finely.
  double slice_mm = 1;  ///< Between sections; wider on holds above 200 mm.
};

/// Measures one hold: everything that `Shape` holds, each number with its standard uncertainty.
///
/// @param mesh  In the hold frame (wall z = 0, climber at +z, bolt axis on the origin), mm,
/// oriented
///              outwards. See hold_frame.h and repair.h for meshes that are not.
/// @throws BadInput     The mesh is empty, not above the wall, or no hold can have its size; the
///                      section that at_offset_mm asks for misses it.
/// @throws Interrupted  `progress` said stop.
Shape measureShape(const TriangleMesh& mesh, const MeasureOptions& options = {},
                   const Progress& progress = {});

/// One hold made ready to be measured at one pull and place after another: what does not depend on
/// them is prepared once. May be asked from several threads at once.
class PreparedHold {
 public:
  /// @throws BadInput  The mesh is empty, not above the wall, or no hold can have its size.
  explicit PreparedHold(const TriangleMesh& mesh, const MeasureOptions& options = {});
  ~PreparedHold();

  const TriangleMesh& mesh() const;
  /// Section and, where there is one, grip at this rotation: at the best place, or at this sideways
  /// offset. @throws BadInput  That section misses the hold.
  Shape at(double rotation_deg, std::optional<double> offset_mm = {}) const;

 private:
  struct Parts;
  std::unique_ptr<const Parts> parts_;
};

/// The same for one pull only: its grip and section are the only ones in the answer's map.
Shape measureAtRotation(const TriangleMesh& mesh, double rotation_deg,
                        const MeasureOptions& options = {});

}  // namespace holdshelf
