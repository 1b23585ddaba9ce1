// SPDX-License-Identifier: Apache-2.0
#include "tests/photobooth/stage.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "tests/photobooth/clutter.h"
#include "tests/photobooth/noise.h"
#include "tests/photobooth/surface_scene.h"
#include "tests/shapes/sdf_mesh.h"

namespace holdshelf {
namespace {

using Eigen::Vector3d;
using Eigen::Vector3f;

constexpr float kPi = std::numbers::pi_v<float>;
constexpr int kSkyRays = 96, kSmoothing = 6;

Surface surfaceOf(const TriangleMesh& mesh, const Sdf& solid) {
  Surface s;
  s.triangle = mesh.triangles;
  for (const Vector3d& p : mesh.vertices_mm) s.position.emplace_back(p.cast<float>());
  s.normal.resize(s.position.size());
  tbb::parallel_for(std::size_t{0}, s.position.size(), [&](std::size_t i) {
    s.normal[i] = solid.gradient(mesh.vertices_mm[i]).normalized().cast<float>();
  });
  return s;
}

/// Cosine-weighted direction about n from two numbers in [0, 1).
Vector3f cosineDirection(const Vector3f& n, float u, float v) {
  const Vector3f t = n.unitOrthogonal(), b = n.cross(t);
  const float r = std::sqrt(u), a = 2 * kPi * v;
  return r * std::cos(a) * t + r * std::sin(a) * b + std::sqrt(std::max(0.0f, 1 - u)) * n;
}

float fraction(double v) { return static_cast<float>(v - std::floor(v)); }

/// i-th point of a low-discrepancy sequence in the square (M. Roberts, "R2", 2018), shifted.
std::pair<float, float> spread(int i, float shift_u, float shift_v) {
  return {fraction(shift_u + 0.7548776662466927 * i), fraction(shift_v + 0.5698402909980532 * i)};
}

float unit(std::uint32_t h) { return static_cast<float>(h >> 8) / 16777216.0f; }

}  // namespace

enum Piece { kHold, kPaper, kGuest, kDisc, kTable, kClutter, kNothing };

struct Stage::Parts {
  Parts(const ExactHold& shape, const MatSheet& mat_, const StageOptions& options_)
      : options(options_),
        mat(mat_),
        mesh(meshSdf(shape.solid, shape.box_mm, options_.mesh_cell_mm)),
        standing(std::make_unique<SurfaceScene>()) {}

  struct Hit {
    Piece piece = kNothing;
    const Surface* surface = nullptr;
    SurfaceHit at;
  };

  void build(const Sdf& solid);
  void arrange(std::uint32_t seed);
  void gatherSky(Surface& s);
  void gatherLights(Surface& s, bool in_world);
  Hit trace(const Vector3f& from_H, const Vector3f& direction_H) const;
  Vector3f radiance(const Hit& hit, const Vector3f& from_H, const Vector3f& direction_H,
                    std::uint32_t random) const;
  Vector3f shade(const Look& look, const Vector3f& p_W, const Vector3f& to_eye_W, float sky,
                 const Vector3f& bounce, const std::array<float, kLights>& visible,
                 std::uint32_t random) const;
  Vector3f toWorld(const Vector3f& v) const {
    return {cos_turn * v.x() - sin_turn * v.y(), sin_turn * v.x() + cos_turn * v.y(), v.z()};
  }
  Vector3f toHold(const Vector3f& v) const {
    return {cos_turn * v.x() + sin_turn * v.y(), -sin_turn * v.x() + cos_turn * v.y(), v.z()};
  }

  StageOptions options;
  MatSheet mat;
  TriangleMesh mesh;
  SurfaceScene turning;                    ///< Hold frame.
  std::unique_ptr<SurfaceScene> standing;  ///< World frame.
  std::vector<Piece> on_mat;               ///< Of the turning scene's geometries, in order.
  Surface hold, paper, guest, disc, table, things;
  std::array<AreaLight, kLights> lights;
  std::array<float, kLights> emitted;  ///< Radiance.
  float sky_radiance = 1, exposure = 1;
  float cos_turn = 1, sin_turn = 0;
  std::uint32_t clutter_looks = 0;  ///< Which set of patterns the clutter wears.
};

void Stage::Parts::build(const Sdf& solid) {
  hold = surfaceOf(mesh, solid);
  paper = sheet(mat.halfWidth_mm(), mat.halfHeight_mm(), 1.2,
                [&](double x, double y) { return mat.height_mm(x, y) + 0.0; });
  const auto add = [&](const Surface& s, Piece piece) {
    turning.add(s);
    on_mat.push_back(piece);
  };
  add(hold, kHold);
  add(paper, kPaper);
  if (options.guest) {
    guest =
        surfaceOf(meshSdf(options.guest->solid, options.guest->box_mm, 1), options.guest->solid);
    add(guest, kGuest);
  }
  if (options.turntable) {
    const double r = std::hypot(mat.halfWidth_mm(), mat.halfHeight_mm()) + 15;
    disc = sheet(r, r, 4, [](double, double) { return -0.4; });
    std::erase_if(disc.triangle, [&](const Eigen::Vector3i& t) {
      return disc.position[static_cast<std::size_t>(t[0])].head<2>().norm() > r;
    });
    add(disc, kDisc);
  }
  turning.commit();
  const double top = options.turntable ? -25 : -0.4;
  table = sheet(900, 900, 7, [=](double, double) { return top; });
  arrange(options.seed);

  const float s = static_cast<float>(options.light_size);
  lights[0] = {
      {-450, -380, 700}, {160 * s, 0, 0}, {0, 160 * s, 0}, static_cast<float>(options.key_light)};
  lights[1] = {{620, 150, 520},
               {0, 220 * s, 0},
               {120 * s, 0, 150 * s},
               static_cast<float>(options.fill_light)};
  lights[2] = {{-100, 700, 560},
               {260 * s, 0, 0},
               {0, 120 * s, 120 * s},
               static_cast<float>(options.back_light)};
  float total = 0;
  for (int l = 0; l < kLights; ++l) {
    const AreaLight& light = lights[l];
    const Vector3f n = light.half_u.cross(light.half_v).normalized();
    const Vector3f d = light.centre.normalized();
    const float solid_angle = 4 * light.half_u.cross(light.half_v).norm() * std::abs(n.dot(d)) /
                              light.centre.squaredNorm();
    emitted[l] = light.power / solid_angle;
    total += light.power * d.z();
  }
  const float ambient = static_cast<float>(options.ambient);
  sky_radiance = total * ambient / (1 - ambient) / kPi;
  exposure = 0.62f / (0.82f * total / (1 - ambient) / kPi);
  for (Surface* piece : {&hold, &paper, &guest, &disc, &table}) {
    piece->sky.assign(piece->position.size(), 1);
    piece->bounce.assign(piece->position.size(), Vector3f::Zero());
    piece->visible.assign(piece->position.size(), {1, 1, 1});
  }
  for (Surface* piece : {&hold, &paper, &guest, &disc}) gatherSky(*piece);
}

void Stage::Parts::arrange(std::uint32_t seed) {
  things = clutter(options.clutter, seed);
  clutter_looks = seed - options.seed;
  standing = std::make_unique<SurfaceScene>();
  standing->add(table);
  standing->add(things);
  standing->commit();
}

void Stage::Parts::gatherSky(Surface& s) {
  // Light on the surroundings, for one bounce: on the mat all of it, inside a hold's hollows less.
  const float typical = 0.62f / 0.82f / exposure;
  const Vector3f from_paper = Vector3f::Constant(0.5f * 0.85f * typical);
  const Vector3f from_hold = options.paint.albedo_bgr * (0.5f * typical);
  const Vector3f from_table = Vector3f(0.14f, 0.25f, 0.38f) * (0.8f * typical);
  tbb::parallel_for(std::size_t{0}, s.position.size(), [&](std::size_t i) {
    const Vector3f from = s.position[i] + 0.03f * s.normal[i];
    const std::uint32_t h = mix(static_cast<std::uint32_t>(i));
    float open = 0;
    Vector3f bounce = Vector3f::Zero();
    for (int k = 0; k < kSkyRays; ++k) {
      const auto [u, v] = spread(k, unit(h), unit(mix(h)));
      const Vector3f d = cosineDirection(s.normal[i], u, v);
      const SurfaceHit hit = turning.trace(from, d, 500);
      const Piece piece =
          hit.surface < 0 ? kNothing : on_mat[static_cast<std::size_t>(hit.surface)];
      if (piece == kHold || piece == kGuest)
        bounce += from_hold;
      else if (piece == kPaper)
        bounce += from_paper;
      else if (d.z() < 0)
        bounce += from_table;
      else
        ++open;
    }
    s.sky[i] = open / kSkyRays;
    s.bounce[i] = bounce / kSkyRays;
  });
  smoothLight(s, kSmoothing, false);
}

void Stage::Parts::gatherLights(Surface& s, bool in_world) {
  // On a turntable every photo is lit anew, so fewer rays are smoothed over more neighbours.
  const int rays = options.turntable ? 8 : 24;
  tbb::parallel_for(std::size_t{0}, s.position.size(), [&](std::size_t i) {
    const Vector3f n_H = in_world ? toHold(s.normal[i]) : s.normal[i];
    const Vector3f p_H = (in_world ? toHold(s.position[i]) : s.position[i]) + 0.03f * n_H;
    const std::uint32_t h = mix(static_cast<std::uint32_t>(i) + 77);
    for (int l = 0; l < kLights; ++l) {
      int seen = 0, facing = 0;
      for (int k = 0; k < rays; ++k) {
        const auto [u, v] = spread(k, unit(h), unit(mix(h + static_cast<std::uint32_t>(l))));
        const Vector3f q =
            lights[l].centre + (2 * u - 1) * lights[l].half_u + (2 * v - 1) * lights[l].half_v;
        const Vector3f d = toHold(q) - p_H;
        // Grit tilts the surface, so a little beyond the horizon counts.
        if (d.dot(n_H) < -0.1f * d.norm()) continue;
        ++facing;
        seen += !turning.blocked(p_H, d, 1);
      }
      s.visible[i][l] = facing ? static_cast<float>(seen) / static_cast<float>(facing) : 0.0f;
    }
  });
  smoothLight(s, options.turntable ? 9 : kSmoothing, true);
}

Stage::Parts::Hit Stage::Parts::trace(const Vector3f& from_H, const Vector3f& direction_H) const {
  Hit hit;
  const SurfaceHit near = turning.trace(from_H, direction_H, INFINITY);
  if (near.surface >= 0) hit = {on_mat[static_cast<std::size_t>(near.surface)], nullptr, near};
  if (hit.piece >= kDisc) {
    const SurfaceHit far = standing->trace(toWorld(from_H), toWorld(direction_H), near.distance);
    if (far.surface >= 0) hit = {far.surface == 0 ? kTable : kClutter, nullptr, far};
  }
  const Surface* surfaces[] = {&hold, &paper, &guest, &disc, &table, &things, nullptr};
  hit.surface = surfaces[hit.piece];
  return hit;
}

Vector3f Stage::Parts::shade(const Look& look, const Vector3f& p_W, const Vector3f& to_eye_W,
                             float sky, const Vector3f& bounce,
                             const std::array<float, kLights>& visible,
                             std::uint32_t random) const {
  Vector3f sum = Vector3f::Zero();
  for (int l = 0; l < kLights; ++l) {
    if (visible[l] <= 0) continue;
    const AreaLight& light = lights[l];
    const Vector3f area = light.half_u.cross(light.half_v);
    Vector3f part = Vector3f::Zero();
    for (int k = 0; k < 4; ++k) {  // One point in each quarter of the light.
      random = mix(random + 0x9e3779b9u);
      const float u = static_cast<float>(k & 1) + unit(random),
                  v = static_cast<float>(k >> 1) + unit(mix(random));
      const Vector3f to_light =
          light.centre + (u - 1) * light.half_u + (v - 1) * light.half_v - p_W;
      const float distance2 = to_light.squaredNorm();
      const Vector3f d = to_light / std::sqrt(distance2);
      part += reflect(look, d, to_eye_W) * (std::abs(area.dot(d)) / distance2);
    }
    sum += part * (emitted[l] * visible[l]);  // Four quarters of an area of 4 |u x v|.
  }
  sum += look.albedo.cwiseProduct(sky * sky_radiance * Vector3f::Ones() + bounce);
  if (look.specular > 0) {
    const Vector3f mirrored = 2 * look.normal.dot(to_eye_W) * look.normal - to_eye_W;
    const float nv = std::max(look.normal.dot(to_eye_W), 0.0f);
    const float smooth = 1 - look.roughness;
    const float fresnel = 0.04f + smooth * smooth * std::pow(1 - nv, 5.0f);
    const float up = std::clamp(mirrored.z() * 2 + 0.5f, 0.0f, 1.0f);
    sum +=
        look.specular * fresnel * (up * sky * sky_radiance * Vector3f::Ones() + (1 - up) * bounce);
  }
  return sum;
}

Vector3f Stage::Parts::radiance(const Hit& hit, const Vector3f& from_H, const Vector3f& direction_H,
                                std::uint32_t random) const {
  if (hit.piece == kNothing) return room(toWorld(direction_H)) * (2.2f * sky_radiance);
  const Vector3f p_H = from_H + hit.at.distance * direction_H;
  const Vector3f p_W = toWorld(p_H), to_eye_W = -toWorld(direction_H);
  if (hit.piece == kClutter) {
    Vector3f n = hit.at.face_normal;
    if (n.dot(to_eye_W) < 0) n = -n;
    const Look look = lookOfClutter(
        p_W, n, static_cast<int>(static_cast<unsigned>(hit.at.triangle) / 12 + clutter_looks * 64));
    const float sky = 0.5f + 0.5f * n.z();
    return shade(look, p_W, to_eye_W, sky, Vector3f::Constant(0.1f * sky_radiance),
                 {0.7f, 0.7f, 0.7f}, random);
  }
  const Surface& s = *hit.surface;
  const Eigen::Vector3i& t = s.triangle[static_cast<std::size_t>(hit.at.triangle)];
  const float w[3] = {1 - hit.at.u - hit.at.v, hit.at.u, hit.at.v};
  Vector3f normal = Vector3f::Zero(), bounce = Vector3f::Zero();
  std::array<float, kLights> visible{};
  float sky = 0;
  bool crease = false;
  for (int k = 0; k < 3; ++k) {
    const auto i = static_cast<std::size_t>(t[k]);
    normal += w[k] * s.normal[i];
    bounce += w[k] * s.bounce[i];
    sky += w[k] * s.sky[i];
    for (int l = 0; l < kLights; ++l) visible[l] += w[k] * s.visible[i][l];
    crease |= s.normal[i].dot(hit.at.face_normal) < 0.7f;
  }
  normal = crease ? hit.at.face_normal : normal.normalized().eval();
  Look look;
  if (hit.piece == kHold) {
    look = lookOfHold(options.paint, p_H, normal);
  } else if (hit.piece == kPaper) {
    look.albedo = Vector3f::Constant(mat.reflectance(p_H.x(), p_H.y()));
    look.normal = normal;
    look.roughness = 0.5f;
    look.specular = 0.25f;
  } else if (hit.piece == kGuest) {
    HoldPaint skin;
    skin.albedo_bgr = options.guest->albedo_bgr;
    skin.texture = 0.4f;
    skin.gloss = 0.2f;
    look = lookOfHold(skin, p_H, normal);
  } else {
    look = hit.piece == kDisc ? lookOfDisc(p_H) : lookOfTable(p_W);
  }
  if (hit.piece != kTable) look.normal = toWorld(look.normal);
  return shade(look, p_W, to_eye_W, sky, bounce, visible, random);
}

Stage::Stage(const ExactHold& hold, const MatSheet& mat, const StageOptions& options)
    : parts_(std::make_unique<Parts>(hold, mat, options)) {
  parts_->build(hold.solid);
  if (!options.turntable) turn(0);
}

Stage::~Stage() = default;

const TriangleMesh& Stage::holdMesh() const { return parts_->mesh; }

void Stage::turn(double angle_deg) {
  parts_->cos_turn = static_cast<float>(std::cos(angle_deg * std::numbers::pi / 180));
  parts_->sin_turn = static_cast<float>(std::sin(angle_deg * std::numbers::pi / 180));
  for (Surface* piece : {&parts_->hold, &parts_->paper, &parts_->guest, &parts_->disc})
    parts_->gatherLights(*piece, false);
  parts_->gatherLights(parts_->table, true);
}

void Stage::rearrangeClutter(std::uint32_t seed) { parts_->arrange(seed); }

cv::Mat Stage::expose(const PosedCamera& camera, const Lens& lens, std::uint32_t seed) const {
  const CameraModel& m = camera.model;
  const Eigen::Matrix3f R = camera.T_camera_hold.linear().transpose().cast<float>();
  const Vector3f eye = camera.centre_H_mm().cast<float>();
  const float aperture = static_cast<float>(lens.aperture_mm / 2),
              focus = static_cast<float>(lens.focus_mm);
  cv::Mat image(m.height_px, m.width_px, CV_32FC3);
  tbb::parallel_for(0, m.height_px, [&](int y) {
    Vector3d ray = m.ray({0, y});
    Vector3d down = m.ray({0, y + 1.0}) - ray;
    for (int x = 0; x < m.width_px; ++x) {
      const Vector3d next = m.ray({x + 1.0, y});
      const Vector3d right = next - ray;
      const std::uint32_t h = mix(seed ^ mix(static_cast<std::uint32_t>(y * m.width_px + x)));
      Vector3f sum = Vector3f::Zero();
      int done = 0;
      bool background = true;
      while (done < lens.samples && (done < 3 || !background)) {
        const auto [u, v] = spread(done, unit(h), unit(mix(h + 1)));
        const auto [a, b] = spread(done, unit(mix(h + 2)), unit(mix(h + 3)));
        const Vector3f through = (ray + (u - 0.5) * right + (v - 0.5) * down).cast<float>();
        const float r = aperture * std::sqrt(a);
        const Vector3f on_lens(r * std::cos(2 * kPi * b), r * std::sin(2 * kPi * b), 0);
        const Vector3f from = eye + R * on_lens;
        const Vector3f direction = (R * (through * focus - on_lens)).normalized();
        const Parts::Hit hit = parts_->trace(from, direction);
        background = background && hit.piece >= kDisc;
        sum +=
            parts_->radiance(hit, from, direction, mix(h + 17u * static_cast<std::uint32_t>(done)));
        ++done;
      }
      sum *= parts_->exposure / static_cast<float>(done);
      image.at<cv::Vec3f>(y, x) = {sum.x(), sum.y(), sum.z()};
      ray = next;
    }
  });
  return image;
}

}  // namespace holdshelf
