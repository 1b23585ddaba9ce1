// SPDX-License-Identifier: Apache-2.0
#include "tests/photobooth/material.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <stdexcept>

#include "tests/photobooth/noise.h"

namespace holdshelf {
namespace {

using Eigen::Vector3f;
constexpr float kPi = std::numbers::pi_v<float>;

Vector3f grey(float v) { return Vector3f::Constant(v); }

/// Share of the texture that is rubbed off at a point.
float polishAt(const HoldPaint& paint, const Vector3f& p_mm) {
  if (paint.polish <= 0) return 0;
  const float away = (p_mm - paint.polish_at_mm).norm() / paint.polish_radius_mm;
  const float t = std::clamp(2 - 2 * away, 0.0f, 1.0f);
  return paint.polish * t * t * (3 - 2 * t);
}

}  // namespace

Vector3f colourNamed(const std::string& name) {
  static const std::map<std::string, Vector3f> colours = {{"red", {0.03f, 0.03f, 0.45f}},
                                                          {"blue", {0.42f, 0.10f, 0.03f}},
                                                          {"green", {0.07f, 0.28f, 0.04f}},
                                                          {"yellow", {0.03f, 0.45f, 0.65f}},
                                                          {"orange", {0.02f, 0.18f, 0.60f}},
                                                          {"purple", {0.30f, 0.05f, 0.16f}},
                                                          {"black", grey(0.025f)},
                                                          {"white", grey(0.70f)},
                                                          {"grey", grey(0.25f)},
                                                          {"pink", {0.25f, 0.12f, 0.60f}},
                                                          {"teal", {0.22f, 0.20f, 0.03f}}};
  const auto at = colours.find(name);
  if (at != colours.end()) return at->second;
  if (name.size() != 7 || name[0] != '#')
    throw std::invalid_argument("No colour is called \"" + name + "\"; name one or give #rrggbb.");
  const auto value = [&](std::size_t i) {
    return std::pow(std::stoi(name.substr(i, 2), nullptr, 16) / 255.0f, 2.2f);
  };
  return {value(5), value(3), value(1)};
}

Look lookOfHold(const HoldPaint& paint, const Vector3f& p_mm, const Vector3f& normal) {
  const NoiseSample blotch = noise(p_mm / 6.5f, 11), mottle = noise(p_mm / 2.3f, 12);
  const NoiseSample grit = noise(p_mm / 0.95f, 13), fine = noise(p_mm / 0.47f, 14);
  const float polish = polishAt(paint, p_mm), t = paint.texture * (1 - polish);
  const float gloss = paint.gloss + (1 - paint.gloss) * polish * 0.5f;
  Look look;
  const float shade = 1 + t * (0.14f * blotch.value + 0.20f * mottle.value + 0.30f * grit.value +
                               0.26f * fine.value);
  look.albedo = paint.albedo_bgr * std::max(shade, 0.1f);
  if (paint.chalk > 0) {
    const float dust =
        std::clamp(paint.chalk * (0.5f + 0.8f * mottle.value + normal.z() * 0.4f), 0.0f, 1.0f);
    look.albedo += (grey(0.72f) - look.albedo) * dust;
  }
  // Relief: heights of 0.05 mm over grit about 1 mm wide, half of that over the fine grain.
  const Vector3f tilt = t * (0.055f / 0.95f * grit.gradient + 0.028f / 0.47f * fine.gradient +
                             0.05f / 2.3f * mottle.gradient);
  look.normal = (normal - (tilt - tilt.dot(normal) * normal)).normalized();
  look.roughness = std::clamp(0.55f - 0.45f * gloss, 0.08f, 1.0f);
  look.specular = 0.3f + 0.9f * gloss;
  return look;
}

Look lookOfTable(const Vector3f& p_mm) {
  const Vector3f grain(p_mm.x() / 160, p_mm.y() / 7, 0.3f);
  const float rings = std::sin(9 * noise(grain, 21).value + p_mm.y() / 14);
  const float fibre = noise(Vector3f(p_mm.x() / 25, p_mm.y() / 1.6f, 3.1f), 22).value;
  Look look;
  look.albedo = Vector3f(0.14f, 0.25f, 0.38f) * (1 + 0.22f * rings + 0.25f * fibre);
  look.normal = Vector3f::UnitZ();
  look.roughness = 0.4f;
  look.specular = 0.4f;
  return look;
}

Look lookOfDisc(const Vector3f& p_mm) {
  Look look;
  look.albedo = grey(0.16f * (1 + 0.35f * noise(p_mm / 1.7f, 31).value));
  look.normal = Vector3f::UnitZ();
  look.roughness = 0.5f;
  look.specular = 0.4f;
  return look;
}

Look lookOfClutter(const Vector3f& p_mm, const Vector3f& normal, int thing) {
  const auto h = [&](int k) {
    return static_cast<float>(mix(static_cast<std::uint32_t>(thing * 7 + k)) >> 8) / 16777216.0f;
  };
  Vector3f base(0.05f + 0.6f * h(0), 0.05f + 0.6f * h(1), 0.05f + 0.6f * h(2));
  const float scale = 8 + 60 * h(3);
  float pattern = noise(p_mm / scale, static_cast<std::uint32_t>(100 + thing)).value;
  if (h(4) < 0.5f)
    pattern = std::sin(p_mm.dot(Vector3f(h(5), h(6), 0.7f)) * 6.2832f / scale) > 0 ? 0.7f : -0.6f;
  Look look;
  look.albedo = base * std::max(1 + 0.7f * pattern, 0.05f);
  look.normal = normal;
  look.roughness = 0.5f;
  look.specular = 0.5f * h(5);
  return look;
}

Vector3f room(const Vector3f& direction) {
  if (direction.z() > 0.75f) return grey(0.85f);
  const float blotch = noise(direction * 4, 41).value + 0.5f * noise(direction * 13, 42).value;
  const float panel = std::sin(18 * std::atan2(direction.y(), direction.x())) > 0.3f ? 0.12f : 0.0f;
  const float up = 0.30f + 0.35f * std::max(direction.z(), 0.0f);
  return Vector3f(1.0f, 1.02f, 1.05f) * std::max(up + panel + 0.22f * blotch, 0.03f);
}

Vector3f reflect(const Look& look, const Vector3f& to_light, const Vector3f& to_eye) {
  const float nl = look.normal.dot(to_light), nv = std::max(look.normal.dot(to_eye), 0.02f);
  if (nl <= 0) return Vector3f::Zero();
  Vector3f out = look.albedo * (nl / kPi);
  if (look.specular <= 0) return out;
  const Vector3f half = (to_light + to_eye).normalized();
  const float nh = std::max(look.normal.dot(half), 0.0f), vh = std::max(to_eye.dot(half), 0.0f);
  const float a2 = look.roughness * look.roughness;
  const float d = nh * nh * (a2 - 1) + 1;
  const float distribution = a2 / (kPi * d * d);
  const float visible =
      0.5f / (nl * std::sqrt(nv * nv * (1 - a2) + a2) + nv * std::sqrt(nl * nl * (1 - a2) + a2));
  const float fresnel = 0.04f + 0.96f * std::pow(1 - vh, 5.0f);
  out.array() += look.specular * fresnel * distribution * visible * nl;
  return out;
}

}  // namespace holdshelf
