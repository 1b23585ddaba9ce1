// SPDX-License-Identifier: Apache-2.0
// The rebuild beside the chain that libraries alone give, on the same calibrated photos and
// outlines.
//   peer_bench [--tune] CAPTURE_DIR...          captures of the photobooth, against the exact shape
//   peer_bench --real MAT.json SCALE PHOTO...   photos on a mat: odd photos against even ones
//   peer_bench --dino FOLDER                    the Middlebury dinoSparseRing set (cameras known)
// Prints rows for the table of tests/bench/README.md. Times and memory are those from masked views
// to the mesh; what both share (calibration, outlines) is printed before. --tune tries the peer's
// settings one by one.
#include <cmath>
#include <cstdio>
#include <filesystem>
#include <functional>
#include <opencv2/calib3d.hpp>
#include <opencv2/imgproc.hpp>
#include <string>

#include "capture/calibrate.h"
#include "capture/cameras_file.h"
#include "capture/dense_surface.h"
#include "capture/hull.h"
#include "capture/mat_file.h"
#include "capture/photo_raster.h"
#include "capture/silhouette.h"
#include "mesh/raster.h"
#include "mesh/ray_scene.h"
#include "tests/bench/meter.h"
#include "tests/bench/peer/open3d_surface.h"
#include "tests/bench/peer/stereo_depth.h"
#include "tests/photobooth/capture_truth.h"
#include "tests/photobooth/score.h"

using namespace holdshelf;
namespace fs = std::filesystem;

namespace {

const Progress kSilent = [](const std::string&, double) { return true; };

struct Scene {
  std::vector<View> views;  ///< Masked.
  bool on_wall = true;
  std::optional<Eigen::AlignedBox3d> box_mm;
  Eigen::Isometry3d T_truth_views = Eigen::Isometry3d::Identity();

  double floor_mm() const { return on_wall ? 0 : -std::numeric_limits<double>::infinity(); }
};

/// A mesh and what it took from masked views on.
struct Built {
  std::string chain;
  TriangleMesh mesh;
  double wall_s = 0, cpu_s = 0, peak_MiB = 0;
};

TriangleMesh ours(const Scene& scene) {
  HullOptions options;
  options.box_mm = scene.box_mm;
  options.floor_z_mm = scene.floor_mm();
  const Hull hull = carveHull(scene.views, options, kSilent);
  std::vector<StageTime> times;
  return denseSurface(scene.views, hull,
                      denseOptions(scene.views, hull, Quality::Normal, scene.on_wall), times,
                      kSilent)
      .mesh;
}

struct PeerOptions {
  StereoOptions stereo;
  SurfaceOptions surface;
};

/// The box that the outlines allow, and some room.
Eigen::AlignedBox3d boxOf(const Scene& scene) {
  HullOptions hull;
  hull.box_mm = scene.box_mm;
  hull.floor_z_mm = scene.floor_mm();
  Eigen::AlignedBox3d box = boundByMasks(scene.views, hull);
  box = {box.min() - Eigen::Vector3d::Constant(2), box.max() + Eigen::Vector3d::Constant(2)};
  if (scene.on_wall) box.min().z() = 0;
  return box;
}

/// What `work` builds, with its costs on top of those of what it started from.
Built measured(const std::string& chain, const Built& from,
               const std::function<TriangleMesh()>& work) {
  const Meter meter;
  Built out{chain, work()};
  out.wall_s = from.wall_s + meter.wall_s();
  out.cpu_s = from.cpu_s + meter.cpu_s();
  out.peak_MiB = std::max(from.peak_MiB, Meter::peakMiB());
  return out;
}

/// Both fusions start from the same depth maps, which are made once and counted for each.
std::vector<Built> peers(const Scene& scene, const PeerOptions& options, bool poisson) {
  const Eigen::AlignedBox3d box = boxOf(scene);
  std::vector<DepthMap> maps;
  const Built depth = measured("depth", {}, [&] {
    maps = stereoDepth(scene.views, box, options.stereo);
    return TriangleMesh{};
  });
  std::vector<Built> out{
      measured("SGM + TSDF", depth, [&] { return fuseByTsdf(maps, box, options.surface); })};
  if (poisson)
    out.push_back(measured("SGM + Poisson", depth,
                           [&] { return fuseByPoisson(maps, box, options.surface); }));
  return out;
}

std::vector<Built> allChains(const Scene& scene) {
  std::vector<Built> out{measured("ours", {}, [&] { return ours(scene); })};
  for (Built& peer : peers(scene, {}, true)) out.push_back(std::move(peer));
  return out;
}

void keepMasked(std::vector<View>& views, const std::vector<SilhouetteVerdict>& verdicts) {
  std::vector<View> kept;
  for (size_t i = 0; i < views.size(); ++i)
    if (verdicts[i].used()) kept.push_back(std::move(views[i]));
  views = std::move(kept);
}

Scene onMat(const std::vector<fs::path>& photos, const Mat& mat, double mat_scale) {
  const Meter meter;
  CalibrateOptions options;
  options.mat_scale = mat_scale;
  CalibratedCapture capture = calibrateCapture(photos, mat, options, kSilent);
  SilhouetteInput input;
  input.mat = mat;
  input.mat_points_H_mm = capture.mat_points_H_mm;
  keepMasked(capture.views, findSilhouettes(capture.views, input, kSilent));
  std::printf("shared: calibration and outlines of %zu photos, %.1f s, %.1f s of processor time\n",
              capture.views.size(), meter.wall_s(), meter.cpu_s());
  Scene scene;
  scene.views = std::move(capture.views);
  scene.T_truth_views = capture.T_hold_mat.inverse();
  return scene;
}

void printScore(const std::string& capture, const std::string& chain, const Built& built,
                const Scene& scene, const ExactHold& hold) {
  const TruthFit fit = fitToTruth(built.mesh, scene.T_truth_views, hold, false);
  const Score score = scoreSurface(built.mesh, fit.T_truth_mesh, hold);
  std::printf("| %s | %s | %.3f / %.3f | %.2f %% | %.1f | %.1f | %.0f |\n", capture.c_str(),
              chain.c_str(), score.median_mm, score.p95_mm, 100 * score.covered, built.wall_s,
              built.cpu_s, built.peak_MiB);
  std::fflush(stdout);
}

void boothRows(const fs::path& folder) {
  const ExactHold hold = holdNamed(shapeInCapture(folder));
  const Scene scene = onMat(photosIn(folder), readMat(folder / "mat.json"), 1);
  for (const Built& built : allChains(scene))
    printScore(folder.filename(), built.chain, built, scene, hold);
}

/// The peer's settings, one changed at a time.
void tuneRows(const fs::path& folder) {
  const ExactHold hold = holdNamed(shapeInCapture(folder));
  const Scene scene = onMat(photosIn(folder), readMat(folder / "mat.json"), 1);
  const std::pair<const char*, std::function<void(PeerOptions&)>> changes[] = {
      {"as chosen", [](PeerOptions&) {}},
      {"1 pair", [](PeerOptions& o) { o.stereo.pairs_a_view = 1; }},
      {"4 pairs", [](PeerOptions& o) { o.stereo.pairs_a_view = 4; }},
      {"angle 8", [](PeerOptions& o) { o.stereo.angle_deg = 8; }},
      {"angle 18", [](PeerOptions& o) { o.stereo.angle_deg = 18; }},
      {"block 3", [](PeerOptions& o) { o.stereo.block_px = 3; }},
      {"block 9", [](PeerOptions& o) { o.stereo.block_px = 9; }},
      {"5 directions", [](PeerOptions& o) { o.stereo.mode = cv::StereoSGBM::MODE_SGBM; }},
      {"8 directions", [](PeerOptions& o) { o.stereo.mode = cv::StereoSGBM::MODE_HH; }},
      {"shrink 3", [](PeerOptions& o) { o.stereo.mask_shrink_px = 3; }},
      {"voxel 0.35", [](PeerOptions& o) { o.surface.voxel_mm = 0.35; }},
      {"voxel 0.7", [](PeerOptions& o) { o.surface.voxel_mm = 0.7; }},
      {"truncation 1.5", [](PeerOptions& o) { o.surface.truncation_mm = 1.5; }},
      {"truncation 4", [](PeerOptions& o) { o.surface.truncation_mm = 4; }}};
  for (const auto& [name, change] : changes) {
    PeerOptions options;
    change(options);
    printScore(folder.filename(), name, peers(scene, options, false)[0], scene, hold);
  }
}

/// Mean overlap of the mesh's own outline with the photos' outlines.
double outlineOverlap(const TriangleMesh& mesh, const std::vector<View>& views) {
  double sum = 0;
  for (const View& view : views) {
    const cv::Mat drawn = drawnMask(rasterise(mesh, rasterCamera(view.camera)));
    sum += double(cv::countNonZero(drawn & view.mask)) / cv::countNonZero(drawn | view.mask);
  }
  return sum / double(views.size());
}

struct Agreement {
  double median_mm = 0, p95_mm = 0, covered = 0;
};

/// How far the surface of one half of the photos lies from that of the other.
Agreement agreement(const TriangleMesh& a, const TriangleMesh& b, double above_mm) {
  const RayScene surface(b);
  std::vector<double> distances;
  for (const Eigen::Vector3d& p : samplePoints(a, 30000, 1))
    if (p.z() > above_mm) distances.push_back(surface.closestPoint(p)->distance_mm);
  std::sort(distances.begin(), distances.end());
  const auto near = std::upper_bound(distances.begin(), distances.end(), 0.5);
  return {distances[distances.size() / 2], distances[distances.size() * 95 / 100],
          double(near - distances.begin()) / double(distances.size())};
}

Scene half(const Scene& scene, size_t first) {
  Scene out = scene;
  out.views.clear();
  for (size_t i = first; i < scene.views.size(); i += 2) out.views.push_back(scene.views[i]);
  return out;
}

void realRows(const std::string& set, const Scene& scene, bool halves) {
  const std::vector<Built> all = allChains(scene);
  std::vector<Built> odd, even;
  if (halves) odd = allChains(half(scene, 0)), even = allChains(half(scene, 1));
  for (size_t i = 0; i < all.size(); ++i) {
    std::printf("| %s | %s | %.2f %% ", set.c_str(), all[i].chain.c_str(),
                100 * outlineOverlap(all[i].mesh, scene.views));
    if (halves) {
      const Agreement a = agreement(odd[i].mesh, even[i].mesh, scene.on_wall ? 1 : -1e9);
      std::printf("| %.3f / %.3f | %.2f %% ", a.median_mm, a.p95_mm, 100 * a.covered);
    } else {
      std::printf("| | ");
    }
    std::printf("| %.1f | %.1f | %.0f |\n", all[i].wall_s, all[i].cpu_s, all[i].peak_MiB);
    std::fflush(stdout);
  }
}

/// Bright is object: the set's own README.
Scene dinosaur(const fs::path& folder) {
  CalibratedCapture capture =
      knownCapture(photosIn(folder), readCameras(folder / "dinoSR_par.txt", 1000), kSilent);
  Scene scene;
  scene.on_wall = false;
  scene.box_mm = Eigen::AlignedBox3d(Eigen::Vector3d(-61.897, -18.874, -57.845),
                                     Eigen::Vector3d(10.897, 68.227, 15.495));
  SilhouetteInput input;
  input.floor_z_mm = scene.floor_mm();
  input.box_mm = scene.box_mm;
  keepMasked(capture.views, findSilhouettes(capture.views, input, kSilent));
  scene.views = std::move(capture.views);
  return scene;
}

int run(const std::vector<std::string>& words) {
  if (words.size() == 2 && words[0] == "--dino") {
    realRows("dino16", dinosaur(words[1]), false);
  } else if (words.size() > 3 && words[0] == "--real") {
    const std::vector<fs::path> photos(words.begin() + 3, words.end());
    realRows("stone36", onMat(photos, readMat(words[1]), std::stod(words[2])), true);
  } else if (words.empty() || words[0].rfind("--", 0) == 0) {
    if (words.size() < 2 || words[0] != "--tune") {
      std::fprintf(stderr, "usage: peer_bench [--tune] CAPTURE_DIR... (see its first lines)\n");
      return 2;
    }
    for (size_t i = 1; i < words.size(); ++i) tuneRows(words[i]);
  } else {
    for (const std::string& folder : words) boothRows(folder);
  }
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run({argv + 1, argv + argc});
  } catch (const std::exception& error) {
    std::fprintf(stderr, "peer_bench: %s\n", error.what());
    return 1;
  }
}
