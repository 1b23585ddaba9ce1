// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <optional>
#include <vector>

#include "mesh/edge.h"
#include "mesh/edge_run.h"
#include "mesh/measure_shape.h"
#include "mesh/outside_line.h"
#include "mesh/searched_mesh.h"
#include "mesh/section.h"

namespace holdshelf {

/// The side-by-side sections of one rotation and the edges in them. One `slice` is one plane of the
/// family; `offset_mm` is where it lies, to the climber's right of the origin.
///
/// Keeps references to all that it is made with, and what optionsAt() gives refers to it.
class GripSections {
 public:
  /// Lays the planes over all of the hold, `slice_mm` apart or closer than a two-hundredth of it,
  /// with one of them at `at_offset_mm` where that is asked for.
  /// @throws BadInput  That one misses the hold.
  GripSections(const SearchedMesh& source, const MeasureOptions& options, double rotation_deg,
               SectionCutter& cutter);
  GripSections(const GripSections&) = delete;
  GripSections& operator=(const GripSections&) = delete;

  const SearchedMesh& source() const { return source_; }
  const MeasureOptions& options() const { return options_; }
  const PlaneFamily& planes() const { return planes_; }
  const OutsideOptions& outside() const { return outside_; }
  SectionCutter& cutter() const { return cutter_; }
  /// Of the section that is shown where there is no grip.
  double middle_mm() const { return middle_mm_; }
  /// The only one in which a grip may lie; -1: any.
  int wantedSlice() const { return wanted_slice_; }

  /// What tells an edge from noise on this mesh, without what belongs to one section.
  const EdgeOptions& edgeOptions() const { return edge_options_; }
  /// The same in the section at an offset: with where a finger comes and how the surface runs.
  EdgeOptions optionsAt(double offset_mm) const;

  /// The edges of every section. What a bolt's head fills is none.
  std::vector<std::vector<EdgeAt>> edgesBySlice() const;

  /// Cuts at one offset and finds the edge there that continues `like`.
  std::optional<SectionEdge> edgeNear(double offset_mm, const SectionEdge& like) const;

 private:
  void layPlanes();
  Eigen::Vector3d inHold(const Eigen::Vector2d& at_mm, double offset_mm) const;
  std::vector<EdgeAt> edgesOf(int slice, double offset_mm, const SectionLines& lines) const;

  const SearchedMesh& source_;
  const MeasureOptions& options_;
  SectionCutter& cutter_;
  PlaneFamily planes_;
  OutsideOptions outside_;
  EdgeOptions edge_options_;
  double middle_mm_ = 0;
  int wanted_slice_ = -1;
};

}  // namespace holdshelf
