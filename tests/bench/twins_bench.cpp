// SPDX-License-Identifier: Apache-2.0
// How surely twins are found: twins_bench [SCANS] [SEED] [FAMILIES] [PAIRS.csv]
// SCANS (1000) scans of different parametric holds at random rotations and places, among them for
// every ninth hold a copy, a mirror image and another size. A scan has noise that neighbours share,
// noise of each vertex, two holes that
// were closed flat, and 5 % of its surface worn by half a millimetre.
// FAMILIES: "plain" (edges, pinches, pockets, one or two numbers apart: what thresholds were chosen
// on) or "rich" (bowls, mounds, fins and joined pieces with bumps: only judged).
// twins_bench real REALDATA DIR: real photos. Rebuilds the stone of REALDATA/stone36 from its odd
// and from its even photos, and the figure of REALDATA/dino16, into DIR unless they are there, and
// says whether the halves are one stone and the figure is not its twin. Skipped without REALDATA.
// Prints recall and precision over pairs, and the time; PAIRS.csv gets every pair that was laid on
// each other, to choose thresholds by.
#include <unistd.h>

#include <Eigen/Geometry>
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <numbers>
#include <optional>
#include <random>
#include <string>
#include <utility>
#include <vector>

#include "capture/mat_file.h"
#include "capture/rebuild.h"
#include "catalog/library.h"
#include "catalog/twins.h"
#include "mesh/mesh_io.h"
#include "mesh/repair.h"
#include "tests/catalog/store_scan.h"
#include "tests/photobooth/capture_truth.h"
#include "tests/shapes/random_holds.h"
#include "tests/shapes/roughen.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;
using Eigen::Vector3d;

namespace {

struct Bench {
  std::mt19937 random;

  double between(double from, double to) {
    return std::uniform_real_distribution<double>(from, to)(random);
  }

  /// Material gone from around one spot, half a millimetre deep, about 5 % of the surface.
  void wear(TriangleMesh& mesh) {
    const auto normals = vertexNormals(mesh);
    const Vector3d spot = mesh.vertices_mm[random() % mesh.vertices_mm.size()];
    std::vector<double> away;
    for (const Vector3d& v : mesh.vertices_mm) away.push_back((v - spot).norm());
    std::vector<double> sorted = away;
    const auto share = sorted.begin() + static_cast<std::ptrdiff_t>(sorted.size() / 20);
    std::nth_element(sorted.begin(), share, sorted.end());
    for (std::size_t i = 0; i < away.size(); ++i)
      if (away[i] < *share && mesh.vertices_mm[i].z() > 1) mesh.vertices_mm[i] -= 0.5 * normals[i];
  }

  void pierce(TriangleMesh& mesh, double radius_mm) {
    const Vector3d spot = mesh.vertices_mm[random() % mesh.vertices_mm.size()];
    std::erase_if(mesh.triangles, [&](const auto& t) {
      return (mesh.vertices_mm[static_cast<std::size_t>(t[0])] - spot).norm() < radius_mm;
    });
  }

  TriangleMesh scan(TriangleMesh mesh, bool mirrored, double scale) {
    const Eigen::Matrix3d R =
        Eigen::AngleAxisd(between(0, 2 * std::numbers::pi), Vector3d::UnitZ()).toRotationMatrix();
    const Vector3d shift(between(-20, 20), between(-20, 20), 0);
    wear(mesh);
    for (Vector3d& v : mesh.vertices_mm) {
      if (mirrored) v.x() = -v.x();
      v = R * (scale * v) + shift;
    }
    if (mirrored)
      for (auto& triangle : mesh.triangles) std::swap(triangle[1], triangle[2]);
    mesh = roughened(mesh, {0.06, 6, 0, static_cast<std::uint32_t>(random())});
    std::normal_distribution<double> noise(0, 0.08);
    for (Vector3d& v : mesh.vertices_mm) v += Vector3d(noise(random), noise(random), noise(random));
    pierce(mesh, 5);
    pierce(mesh, 4);
    return repairMesh(mesh).mesh;
  }
};

using Pair = std::pair<std::string, std::string>;

/// Fills the library; returns the planted pairs.
std::vector<Pair> fill(Library& library, int scans, unsigned seed, bool rich) {
  Bench bench{std::mt19937(seed)};
  std::vector<Pair> planted;
  for (int i = 0, made = 0; made < scans; ++i) {
    const ExactHold hold = drawHold(bench.random, rich ? Family::Rich : Family::Plain);
    const TriangleMesh mesh = meshSdf(hold.solid, hold.box_mm, 2);
    const std::string id = "S" + std::to_string(i);
    test::storeScan(library, id, bench.scan(mesh, false, 1));
    ++made;
    if (i % 9 != 0 || made + 3 > scans) continue;
    test::storeScan(library, id + "-copy", bench.scan(mesh, false, 1));
    test::storeScan(library, id + "-mirror", bench.scan(mesh, true, 1));
    test::storeScan(library, id + "-size", bench.scan(mesh, false, bench.between(0.7, 0.9)));
    made += 3;
    const std::vector<std::string> ids = {id, id + "-copy", id + "-mirror", id + "-size"};
    for (std::size_t a = 0; a < ids.size(); ++a)
      for (std::size_t b = a + 1; b < ids.size(); ++b) planted.emplace_back(ids[a], ids[b]);
  }
  return planted;
}

std::string familyOf(const std::string& id) { return id.substr(0, id.find('-')); }

/// Kind that a planted pair has; sizes and hands of copies and originals are known by their names.
Twin::Kind plantedKind(const std::string& a, const std::string& b) {
  const auto is = [&](const char* what) {
    return (a.find(what) != std::string::npos) != (b.find(what) != std::string::npos);
  };
  if (is("-size")) return is("-mirror") ? Twin::MIRRORED_OTHER_SIZE : Twin::OTHER_SIZE;
  return is("-mirror") ? Twin::MIRRORED : Twin::SAME;
}

/// Planted pairs that are not in the list: were they not laid on each other, or not believed?
void sayMissed(const Library& library, const TwinList& list, const std::vector<Pair>& planted) {
  std::map<std::string, PackedSignature> signatures;
  const SignatureIndex index(library);
  for (const auto& entry : index.entries()) signatures[entry.id] = entry.signature;
  for (const auto& [a, b] : planted) {
    const bool found = std::any_of(list.twins().begin(), list.twins().end(), [&](const Twin& t) {
      return (t.hold() == a && t.other() == b) || (t.hold() == b && t.other() == a);
    });
    if (!found)
      std::printf("missed: %s %s, signatures apart by %u\n", a.c_str(), b.c_str(),
                  signatureDistance2(signatures.at(a), signatures.at(b)));
  }
}

void judge(const TwinList& list, int planted, double time_s) {
  int right = 0, wrong = 0, eye_right = 0, eye_wrong = 0, other_kind = 0;
  for (const Twin& twin : list.twins()) {
    const bool same = familyOf(twin.hold()) == familyOf(twin.other());
    ++(twin.needs_an_eye() ? (same ? eye_right : eye_wrong) : (same ? right : wrong));
    if (same && twin.kind() != plantedKind(twin.hold(), twin.other())) ++other_kind;
    if (same == twin.needs_an_eye())
      std::printf("%s: %s %s %.3f mm, 95 %% %.3f mm, patches %.3f mm, scale %.3f\n",
                  same ? "unsure" : (twin.needs_an_eye() ? "eye" : "wrong"), twin.hold().c_str(),
                  twin.other().c_str(), twin.median_mm(), twin.p95_mm(), twin.patch_p85_mm(),
                  twin.scale());
  }
  std::printf("%lld scans, %lld pairs laid on each other, %d planted pairs, %.1f s\n",
              static_cast<long long>(list.holds()), static_cast<long long>(list.registered()),
              planted, time_s);
  std::printf("found %d of %d (recall %.2f %%), of which sure %d (%.2f %%), another kind %d\n",
              right + eye_right, planted, 100.0 * (right + eye_right) / planted, right,
              100.0 * right / planted, other_kind);
  std::printf("precision of the sure ones %.2f %% (%d wrong); %d false ones need an eye\n",
              100.0 * right / std::max(1, right + wrong), wrong, eye_wrong);
}

void writePairs(const TwinList& list, const char* file) {
  std::ofstream out(file);
  out << "hold,other,planted,median_mm,p95_mm,patch_p85_mm,scale,eye\n";
  for (const Twin& t : list.twins())
    out << t.hold() << ',' << t.other() << ',' << (familyOf(t.hold()) == familyOf(t.other())) << ','
        << t.median_mm() << ',' << t.p95_mm() << ',' << t.patch_p85_mm() << ',' << t.scale() << ','
        << t.needs_an_eye() << '\n';
}

namespace fs = std::filesystem;

/// Every second of a folder's photos, from the given one on.
std::vector<fs::path> everySecond(const fs::path& folder, std::size_t first) {
  const std::vector<fs::path> all = photosIn(folder);
  std::vector<fs::path> chosen;
  for (std::size_t i = first; i < all.size(); i += 2) chosen.push_back(all[i]);
  return chosen;
}

TriangleMesh rebuiltOnce(const fs::path& file, const std::vector<fs::path>& photos,
                         const std::optional<Mat>& mat, const RebuildOptions& options) {
  if (!fs::exists(file)) {
    const auto start = std::chrono::steady_clock::now();
    const Rebuilt rebuilt =
        rebuild(photos, mat, options, [](const std::string&, double) { return true; });
    const std::chrono::duration<double> time = std::chrono::steady_clock::now() - start;
    writePly(file, rebuilt.mesh);
    std::printf("%s rebuilt from %zu photos in %.0f s\n", file.filename().c_str(), photos.size(),
                time.count());
  }
  return readMesh(file);
}

int judgeReal(const fs::path& data, const fs::path& folder) {
  if (!fs::exists(data / "stone36") || !fs::exists(data / "dino16")) {
    std::printf("skipped: %s has no stone36 and dino16\n", data.c_str());
    return 0;
  }
  fs::create_directories(folder);
  const std::optional<Mat> mat = readMat(data / "stone36" / "mat.json");
  RebuildOptions figure;  // Its own cameras, in metres, and the bounds stated with them.
  figure.cameras_file = data / "dino16" / "dinoSR_par.txt";
  figure.cameras_unit_mm = 1000;
  figure.box_mm = Eigen::AlignedBox3d(Vector3d(-61.9, -18.9, -57.8), Vector3d(10.9, 68.2, 15.5));
  const RegistrationTarget odd(
      rebuiltOnce(folder / "stone-odd.ply", everySecond(data / "stone36", 0), mat, {})),
      even(rebuiltOnce(folder / "stone-even.ply", everySecond(data / "stone36", 1), mat, {})),
      other(rebuiltOnce(folder / "figure.ply", photosIn(data / "dino16"), std::nullopt, figure));
  const auto say = [](const char* what, const RegistrationTarget& a, const RegistrationTarget& b) {
    const std::uint32_t apart =
        signatureDistance2(packSignature(a.signature), packSignature(b.signature));
    const Registered r = registerMeshes(a, b);
    Twin twin = judgeTwin(r, a.signature.size_mm);
    twin.set_other("the other");
    const bool candidate = apart <= TwinThresholds{}.signature_distance2;
    std::printf(
        "%s: signatures apart by %u (%s), median %.3f mm, 95 %% %.3f mm, patches %.3f mm: "
        "%s\n",
        what, apart, candidate ? "candidates" : "no candidates", r.median_mm, r.p95_mm,
        r.patch_p85_mm,
        twin.kind() == Twin::KIND_UNSPECIFIED ? "no twins" : twinText(twin).c_str());
    return std::pair{candidate && twin.kind() == Twin::SAME,
                     !candidate || twin.kind() == Twin::KIND_UNSPECIFIED};
  };
  const bool same = say("stone, odd and even photos", odd, even).first;
  const bool apart_odd = say("stone's odd photos and figure", odd, other).second;
  const bool apart_even = say("stone's even photos and figure", even, other).second;
  std::printf("one stone: %s; no twin of the figure: %s\n", same ? "yes" : "NO",
              apart_odd && apart_even ? "yes" : "NO");
  return same && apart_odd && apart_even ? 0 : 1;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc > 3 && std::string(argv[1]) == "real") return judgeReal(argv[2], argv[3]);
  const int scans = argc > 1 ? std::atoi(argv[1]) : 1000;
  const auto seed = static_cast<unsigned>(argc > 2 ? std::atoi(argv[2]) : 4711);
  const bool rich = argc > 3 && std::string(argv[3]) == "rich";
  const auto folder = std::filesystem::temp_directory_path() /
                      ("holdshelf-twins-bench-" + std::to_string(::getpid()));
  std::vector<Pair> planted;
  {
    Library library = Library::openOrCreate(folder);
    planted = fill(library, scans, seed, rich);
  }
  const Library library = Library::open(folder);
  const auto start = std::chrono::steady_clock::now();
  const TwinList list = findTwins(library, {}, {});
  const std::chrono::duration<double> time = std::chrono::steady_clock::now() - start;
  sayMissed(library, list, planted);
  judge(list, static_cast<int>(planted.size()), time.count());
  if (argc > 4) writePairs(list, argv[4]);
  std::filesystem::remove_all(folder);
  return 0;
}
