// SPDX-License-Identifier: Apache-2.0
#include "catalog/twins.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <map>
#include <memory>
#include <optional>
#include <set>

#include "catalog/hold_record.h"
#include "catalog/lost_file.h"
#include "catalog/measured_text.h"
#include "catalog/search_row.h"
#include "catalog/stored_mesh.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

constexpr double kHopeless_mm = 1.5;  // Of the rough registration's median; twins end below 0.2.
constexpr double kUsualSize_mm = 55;  // Cube root of the volume of a hold some 80 mm across.

std::string currentPly(const Library& library, const std::string& id) {
  const Hold hold = library.hold(id);
  return library.blobs().get(currentScan(hold)->mesh_blob());
}

/// A mesh made ready; null where it is none that can be read.
std::shared_ptr<const RegistrationTarget> targetOf(const std::string& ply, const std::string& id) {
  const auto target = unlessLost(
      [&] { return std::make_shared<const RegistrationTarget>(storedMesh(ply, id + ".ply")); });
  return target ? *target : nullptr;
}

/// The library's meshes made ready, a limited number kept.
class Targets {
 public:
  explicit Targets(const Library& library) : library_(library) {}

  /// Null: its mesh is lost or damaged.
  std::shared_ptr<const RegistrationTarget> of(const SignatureIndex::Entry& entry) {
    const auto found = ready_.find(entry.id);
    if (found != ready_.end()) return found->second;
    if (ready_.size() >= kMost) ready_.clear();
    const auto ply = unlessLost([&] { return currentPly(library_, entry.id); });
    const auto target = ply ? targetOf(*ply, entry.id) : nullptr;
    if (target == nullptr) lost_.insert(entry.id);
    return ready_[entry.id] = target;
  }

  /// Those that were asked for and are lost or damaged.
  const std::set<std::string>& lost() const { return lost_; }

 private:
  static constexpr std::size_t kMost = 64;
  const Library& library_;
  std::map<std::string, std::shared_ptr<const RegistrationTarget>> ready_;
  std::set<std::string> lost_;
};

Twin::Kind kindOf(bool mirrored, bool other_size) {
  if (other_size) return mirrored ? Twin::MIRRORED_OTHER_SIZE : Twin::OTHER_SIZE;
  return mirrored ? Twin::MIRRORED : Twin::SAME;
}

RegistrationOptions registrationOptions() {
  RegistrationOptions options;
  options.hopeless_mm = kHopeless_mm;
  return options;
}

void sortBest(TwinList& list) {
  std::sort(list.mutable_twins()->begin(), list.mutable_twins()->end(),
            [](const Twin& x, const Twin& y) { return x.median_mm() < y.median_mm(); });
}

}  // namespace

Twin judgeTwin(const Registered& registered, double size_mm, const TwinThresholds& thresholds) {
  Twin twin;
  if (!std::isfinite(registered.median_mm)) return twin;
  // A scan's errors are in millimetres, whatever the size: only small holds are judged harder.
  const double allow = std::min(1.0, size_mm / kUsualSize_mm);
  // What two shapes differ by shrinks with the size that they are compared at: the larger counts.
  const double patch_mm = registered.patch_p85_mm / std::min(1.0, registered.scale);
  const bool sure = registered.median_mm <= thresholds.twin_median_mm * allow &&
                    registered.p95_mm <= thresholds.twin_p95_mm * allow &&
                    patch_mm <= thresholds.twin_patch_mm;
  if (!sure && registered.median_mm > thresholds.eye_median_mm * allow) return twin;
  twin.set_kind(kindOf(registered.mirrored, std::abs(registered.scale - 1) > thresholds.same_size));
  twin.set_needs_an_eye(!sure);
  twin.set_scale(registered.scale);
  twin.set_median_mm(registered.median_mm);
  twin.set_p95_mm(registered.p95_mm);
  twin.set_patch_p85_mm(patch_mm);
  twin.set_rotation_deg(std::remainder(registered.rotation_deg, 360.0));
  return twin;
}

SignatureIndex::SignatureIndex(const Library& library) {
  library.store().forEachHold(LibraryStore::HoldPart::Search, [&](const HoldRow& row) {
    if (row.status == RETIRED) return;
    const SearchRow search = unpackSearchRow(row.search);
    if (search.signature.size() != kSignatureBytes) return;
    Entry entry{std::string(row.id), {}, search.size_mm};
    std::memcpy(entry.signature.data(), search.signature.data(), kSignatureBytes);
    entries_.push_back(std::move(entry));
  });
}

std::vector<std::size_t> SignatureIndex::nearest(const PackedSignature& signature,
                                                 std::size_t count, std::uint32_t within) const {
  std::vector<std::uint32_t> distances(entries_.size());
  tbb::parallel_for(std::size_t{0}, entries_.size(), [&](std::size_t i) {
    distances[i] = signatureDistance2(signature, entries_[i].signature);
  });
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < distances.size(); ++i)
    if (distances[i] <= within) order.push_back(i);
  const std::size_t kept = std::min(count, order.size());
  std::partial_sort(order.begin(), order.begin() + static_cast<std::ptrdiff_t>(kept), order.end(),
                    [&](std::size_t x, std::size_t y) { return distances[x] < distances[y]; });
  order.resize(kept);
  return order;
}

TwinList findTwins(const Library& library, const TwinThresholds& thresholds,
                   const Progress& progress) {
  const SignatureIndex index(library);
  Targets targets(library);
  TwinList list;
  list.set_holds(static_cast<std::int64_t>(index.entries().size()));
  for (std::size_t i = 0; i < index.entries().size(); ++i) {
    const auto& entry = index.entries()[i];
    if (progress && !progress("comparing shapes",
                              static_cast<double>(i) / static_cast<double>(index.entries().size())))
      throw Interrupted();
    const auto near =
        index.nearest(entry.signature, static_cast<std::size_t>(thresholds.most_candidates) + 1,
                      thresholds.signature_distance2);
    for (const std::size_t other : near) {
      if (other <= i) continue;  // Each pair once; candidates are near both ways.
      const auto a = targets.of(entry), b = targets.of(index.entries()[other]);
      if (a == nullptr || b == nullptr) continue;
      const Registered registered = registerMeshes(*a, *b, registrationOptions());
      list.set_registered(list.registered() + 1);
      Twin twin = judgeTwin(registered, entry.size_mm, thresholds);
      if (twin.kind() == Twin::KIND_UNSPECIFIED) continue;
      twin.set_hold(entry.id);
      twin.set_other(index.entries()[other].id);
      *list.add_twins() = twin;
    }
  }
  list.mutable_unread()->Add(targets.lost().begin(), targets.lost().end());
  sortBest(list);
  return list;
}

TwinList twinsOfMesh(const Library& library, const TriangleMesh& mesh,
                     const TwinThresholds& thresholds, const Progress& progress) {
  const SignatureIndex index(library);
  const RegistrationTarget target(mesh);
  TwinList list;
  list.set_holds(static_cast<std::int64_t>(index.entries().size()));
  const auto near = index.nearest(packSignature(target.signature),
                                  static_cast<std::size_t>(thresholds.most_candidates),
                                  thresholds.signature_distance2);
  if (progress && !progress("looking for twins", 0)) throw Interrupted();
  // A library serves one thread, so its files are read before the comparing is shared out.
  std::vector<std::optional<std::string>> files;
  for (const std::size_t other : near)
    files.push_back(unlessLost([&] { return currentPly(library, index.entries()[other].id); }));
  std::vector<std::optional<Twin>> twins(near.size());  // None: its mesh is lost or damaged.
  tbb::parallel_for(std::size_t{0}, near.size(), [&](std::size_t i) {
    const std::string& id = index.entries()[near[i]].id;
    const auto candidate = files[i] ? targetOf(*files[i], id) : nullptr;
    if (candidate == nullptr) return;
    twins[i] = judgeTwin(registerMeshes(target, *candidate, registrationOptions()),
                         target.signature.size_mm, thresholds);
    twins[i]->set_other(id);
  });
  for (std::size_t i = 0; i < near.size(); ++i) {
    if (!twins[i]) list.add_unread(index.entries()[near[i]].id);
    list.set_registered(list.registered() + (twins[i] ? 1 : 0));
    if (twins[i] && twins[i]->kind() != Twin::KIND_UNSPECIFIED) *list.add_twins() = *twins[i];
  }
  sortBest(list);
  return list;
}

std::string twinText(const Twin& twin) {
  std::string text = "the same shape as ";
  if (twin.kind() == Twin::MIRRORED) text = "the mirror image of ";
  if (twin.kind() == Twin::OTHER_SIZE) text = decimalText(twin.scale(), 2) + " times the size of ";
  if (twin.kind() == Twin::MIRRORED_OTHER_SIZE)
    text = "mirrored and " + decimalText(twin.scale(), 2) + " times the size of ";
  text += twin.other() + " (" + decimalText(twin.median_mm(), 2) + " mm, 95 % within " +
          decimalText(twin.p95_mm(), 2) + " mm)";
  return twin.needs_an_eye() ? text + ", look at both" : text;
}

}  // namespace holdshelf
