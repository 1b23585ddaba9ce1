// SPDX-License-Identifier: Apache-2.0
// This work is based on:
// Botsch M, Kobbelt L. A Remeshing Approach to Multiresolution Modeling. SGP 2004, section 4.
// Dey T, Edelsbrunner H, Guha S, Nekhayev D. Topology preserving edge contraction. 1999 (link).
#include "mesh/remesh.h"

#include <Eigen/Geometry>
#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace holdshelf {
namespace {

using Eigen::Vector3d;
using Eigen::Vector3i;

/// A closed mesh under change: triangles with a mark for deleted ones and the fan of each vertex.
class Remesher {
 public:
  Remesher(const TriangleMesh& mesh, const RemeshOptions& options)
      : options_(options),
        position_(mesh.vertices_mm),
        triangle_(mesh.triangles),
        alive_(mesh.triangles.size(), true),
        fan_(mesh.vertices_mm.size()) {
    for (size_t t = 0; t < triangle_.size(); ++t)
      for (int k = 0; k < 3; ++k) fan_[triangle_[t][k]].push_back(static_cast<int>(t));
    markRim();
  }

  TriangleMesh run() {
    for (int pass = 0; pass < options_.passes; ++pass) {
      splitLongEdges();
      collapseShortEdges();
      flipEdges();
      smooth();
    }
    return compacted();
  }

 private:
  bool onWall(int v) const { return position_[v].z() < 1e-9; }

  /// A rim vertex lies on the wall plane and touches a triangle that leaves it.
  void markRim() {
    rim_.assign(position_.size(), false);
    if (!options_.keep_wall_rim) return;
    for (const Vector3i& t : triangle_) {
      const bool leaves = !onWall(t[0]) || !onWall(t[1]) || !onWall(t[2]);
      for (int k = 0; k < 3; ++k)
        if (leaves && onWall(t[k])) rim_[t[k]] = true;
    }
  }

  double length(int a, int b) const { return (position_[a] - position_[b]).norm(); }

  int third(int t, int a, int b) const {
    for (int k = 0; k < 3; ++k)
      if (triangle_[t][k] != a && triangle_[t][k] != b) return triangle_[t][k];
    return -1;
  }

  /// The two triangles at edge ab; the first runs a to b.
  std::pair<int, int> wings(int a, int b) const {
    std::pair<int, int> found(-1, -1);
    for (int t : fan_[a])
      for (int k = 0; k < 3; ++k) {
        if (triangle_[t][k] == a && triangle_[t][(k + 1) % 3] == b) found.first = t;
        if (triangle_[t][k] == b && triangle_[t][(k + 1) % 3] == a) found.second = t;
      }
    return found;
  }

  Vector3d areaNormal(const Vector3d& a, const Vector3d& b, const Vector3d& c) const {
    return (b - a).cross(c - a);
  }

  void replaceCorner(int t, int from, int to) {
    for (int k = 0; k < 3; ++k)
      if (triangle_[t][k] == from) triangle_[t][k] = to;
  }

  void leaveFan(int v, int t) { std::erase(fan_[v], t); }

  void splitLongEdges() {
    const double longest = options_.edge_mm * 4 / 3;
    for (size_t t = 0; t < triangle_.size(); ++t) {
      if (!alive_[t]) continue;
      int best = -1;
      double most = longest;
      for (int k = 0; k < 3; ++k) {
        const double l = length(triangle_[t][k], triangle_[t][(k + 1) % 3]);
        if (l > most) most = l, best = k;
      }
      if (best < 0) continue;
      split(triangle_[t][best], triangle_[t][(best + 1) % 3]);
      --t;  // What is left of the triangle may still be long.
    }
  }

  void split(int a, int b) {
    const auto [left, right] = wings(a, b);
    const int c = third(left, a, b), d = third(right, a, b);
    const int m = static_cast<int>(position_.size());
    position_.push_back((position_[a] + position_[b]) / 2);
    rim_.push_back(rim_[a] && rim_[b] && edgeOnRim(left, right));
    fan_.emplace_back();
    addTriangle({m, b, c});
    addTriangle({b, m, d});
    replaceCorner(left, b, m);
    replaceCorner(right, b, m);
    leaveFan(b, left);
    leaveFan(b, right);
    fan_[m].push_back(left);
    fan_[m].push_back(right);
  }

  bool flat(int t) const {
    return onWall(triangle_[t][0]) && onWall(triangle_[t][1]) && onWall(triangle_[t][2]);
  }
  bool edgeOnRim(int left, int right) const { return flat(left) != flat(right); }

  void addTriangle(const Vector3i& corners) {
    const int t = static_cast<int>(triangle_.size());
    triangle_.push_back(corners);
    alive_.push_back(true);
    for (int k = 0; k < 3; ++k) fan_[corners[k]].push_back(t);
  }

  void collapseShortEdges() {
    const double shortest = options_.edge_mm * 4 / 5;
    for (size_t t = 0; t < triangle_.size(); ++t)
      for (int k = 0; k < 3 && alive_[t]; ++k) {
        const int a = triangle_[t][k], b = triangle_[t][(k + 1) % 3];
        if (length(a, b) < shortest && collapse(a, b)) break;
      }
  }

  std::vector<int> ring(int v) const {
    std::vector<int> out;
    for (int t : fan_[v])
      for (int k = 0; k < 3; ++k)
        if (triangle_[t][k] != v) out.push_back(triangle_[t][k]);
    std::sort(out.begin(), out.end());
    out.erase(std::unique(out.begin(), out.end()), out.end());
    return out;
  }

  /// Merges b into a where that keeps the topology, the rim and the sense of every triangle.
  bool collapse(int a, int b) {
    const auto [left, right] = wings(a, b);
    if (left < 0 || right < 0) return false;
    if (rim_[b] && !rim_[a]) return collapse(b, a);
    if (rim_[a] && rim_[b] && !edgeOnRim(left, right)) return false;
    const std::vector<int> ra = ring(a), rb = ring(b);
    std::vector<int> shared;
    std::set_intersection(ra.begin(), ra.end(), rb.begin(), rb.end(), std::back_inserter(shared));
    if (shared.size() != 2 || ra.size() + rb.size() < 9) return false;
    for (int s : shared)
      if (fan_[s].size() <= 3) return false;
    const Vector3d to = position_[a];  // On the surface; the middle would sink below it.
    if (!keepsSense(a, left, right, to) || !keepsSense(b, left, right, to)) return false;
    const double longest = options_.edge_mm * 4 / 3;
    for (int v : rb)
      if ((position_[v] - to).norm() > longest) return false;
    for (int t : {left, right}) {
      alive_[t] = false;
      for (int k = 0; k < 3; ++k) leaveFan(triangle_[t][k], t);
    }
    for (int t : fan_[b]) {
      replaceCorner(t, b, a);
      fan_[a].push_back(t);
    }
    fan_[b].clear();
    return true;
  }

  /// No triangle at v but the two that vanish turns over or becomes a needle when v moves.
  bool keepsSense(int v, int left, int right, const Vector3d& to) const {
    for (int t : fan_[v]) {
      if (t == left || t == right) continue;
      Vector3d p[3];
      for (int k = 0; k < 3; ++k) p[k] = position_[triangle_[t][k]];
      const Vector3d before = areaNormal(p[0], p[1], p[2]);
      for (int k = 0; k < 3; ++k)
        if (triangle_[t][k] == v) p[k] = to;
      const Vector3d after = areaNormal(p[0], p[1], p[2]);
      if (after.dot(before) < 0.5 * after.norm() * before.norm() || after.norm() < 1e-9)
        return false;
    }
    return true;
  }

  void flipEdges() {
    for (size_t t = 0; t < triangle_.size(); ++t)
      for (int k = 0; k < 3 && alive_[t]; ++k)
        flipIfBetter(triangle_[t][k], triangle_[t][(k + 1) % 3]);
  }

  void flipIfBetter(int a, int b) {
    const auto [left, right] = wings(a, b);
    if (left < 0 || right < 0 || (options_.keep_wall_rim && edgeOnRim(left, right))) return;
    const int c = third(left, a, b), d = third(right, a, b);
    const auto off = [&](int v, int change) {
      const int valence = static_cast<int>(fan_[v].size()) + change - 6;
      return valence * valence;
    };
    const int before = off(a, 0) + off(b, 0) + off(c, 0) + off(d, 0);
    const int after = off(a, -1) + off(b, -1) + off(c, 1) + off(d, 1);
    if (after >= before || fan_[a].size() <= 3 || fan_[b].size() <= 3) return;
    if (wings(c, d).first >= 0 || wings(d, c).first >= 0) return;  // The edge exists elsewhere.
    const Vector3d n1 = areaNormal(position_[a], position_[d], position_[c]);
    const Vector3d n2 = areaNormal(position_[b], position_[c], position_[d]);
    const Vector3d old = areaNormal(position_[a], position_[b], position_[c]).normalized() +
                         areaNormal(position_[b], position_[a], position_[d]).normalized();
    if (n1.dot(old) < 1.6 * n1.norm() || n2.dot(old) < 1.6 * n2.norm()) return;
    triangle_[left] = {a, d, c};
    triangle_[right] = {b, c, d};
    leaveFan(b, left);
    leaveFan(a, right);
    fan_[d].push_back(left);
    fan_[c].push_back(right);
  }

  /// Moves each vertex to the middle of its ring, along the surface only.
  void smooth() {
    std::vector<Vector3d> moved = position_;
    for (size_t v = 0; v < position_.size(); ++v) {
      if (fan_[v].empty() || rim_[v]) continue;
      Vector3d normal = Vector3d::Zero(), middle = Vector3d::Zero();
      double weight = 0;
      for (int t : fan_[v]) {
        const Vector3i& c = triangle_[t];
        const Vector3d n = areaNormal(position_[c[0]], position_[c[1]], position_[c[2]]);
        normal += n;
        middle += n.norm() * (position_[c[0]] + position_[c[1]] + position_[c[2]]) / 3;
        weight += n.norm();
      }
      if (weight <= 0 || normal.norm() <= 0) continue;
      normal.normalize();
      const Vector3d step = middle / weight - position_[v];
      moved[v] = position_[v] + 0.7 * (step - normal * normal.dot(step));
    }
    position_ = std::move(moved);
  }

  TriangleMesh compacted() const {
    TriangleMesh out;
    std::vector<int> name(position_.size(), -1);
    for (size_t t = 0; t < triangle_.size(); ++t) {
      if (!alive_[t]) continue;
      Vector3i corners;
      for (int k = 0; k < 3; ++k) {
        int& id = name[triangle_[t][k]];
        if (id < 0) {
          id = static_cast<int>(out.vertices_mm.size());
          out.vertices_mm.push_back(position_[triangle_[t][k]]);
        }
        corners[k] = id;
      }
      out.triangles.push_back(corners);
    }
    return out;
  }

  const RemeshOptions options_;
  std::vector<Vector3d> position_;
  std::vector<Vector3i> triangle_;
  std::vector<bool> alive_, rim_;
  std::vector<std::vector<int>> fan_;
};

}  // namespace

TriangleMesh remesh(const TriangleMesh& mesh, const RemeshOptions& options) {
  if (!isWatertight(mesh)) throw std::invalid_argument("remesh: the mesh is not closed");
  if (!(options.edge_mm > 0)) throw std::invalid_argument("remesh: no edge length");
  return Remesher(mesh, options).run();
}

}  // namespace holdshelf
