// SPDX-License-Identifier: Apache-2.0
#include "capture/colour.h"

#include <tbb/parallel_for.h>

#include <algorithm>
#include <cmath>
#include <memory>

#include "capture/mat_background.h"
#include "capture/sight.h"
#include "mesh/bad_input.h"
#include "mesh/srgb.h"

namespace holdshelf {
namespace {

/// One photo's word on a vertex.
struct Sample {
  Eigen::Vector3f linear;
  float weight = 0;
  int view = -1;
};

/// A view prepared for questions: what it sees, and its light.
class Witness {
 public:
  Witness(const View& view, const TriangleMesh& mesh, std::optional<PaperLight> light)
      : view_(view), sight_(view, mesh), light_(std::move(light)) {}

  /// The colour of a vertex relative to white, weighted by how squarely it is seen; weight 0 when
  /// it is hidden.
  Sample ask(const Eigen::Vector3d& point, const Eigen::Vector3d& normal,
             double least_cosine) const {
    Sample sample;
    const auto seen = sight_.of(point, normal, least_cosine);
    if (!seen) return sample;
    sample.linear = bilinear(seen->pixel.x(), seen->pixel.y());
    if (light_) sample.linear = sample.linear.cwiseQuotient(light_->white(point.head<2>()));
    const double resolution = 1 / seen->pixel_mm;
    sample.weight = float(seen->cosine * seen->cosine * resolution * resolution);
    return sample;
  }

 private:
  Eigen::Vector3f bilinear(double u, double v) const {
    const int x = int(u), y = int(v);
    const float fx = float(u - x), fy = float(v - y);
    Eigen::Vector3f sum = Eigen::Vector3f::Zero();
    for (int k = 0; k < 4; ++k) {
      const cv::Vec3b& c = view_.bgr.at<cv::Vec3b>(y + (k >> 1), x + (k & 1));
      const float w = (k & 1 ? fx : 1 - fx) * (k >> 1 ? fy : 1 - fy);
      sum += w * Eigen::Vector3f(linearFromSrgb(c[2]), linearFromSrgb(c[1]), linearFromSrgb(c[0]));
    }
    return sum;
  }

  const View& view_;
  Sight sight_;
  std::optional<PaperLight> light_;
};

/// Keeps the `most` weightiest samples, in descending order.
void keepBest(std::vector<Sample>& best, const Sample& sample, std::size_t most) {
  if (sample.weight <= 0) return;
  auto at = std::find_if(best.begin(), best.end(),
                         [&](const Sample& s) { return s.weight < sample.weight; });
  best.insert(at, sample);
  if (best.size() > most) best.pop_back();
}

/// Weighted mean that discards what is far from the weighted median brightness, highlights first.
Eigen::Vector3f blend(const std::vector<Sample>& samples) {
  std::vector<const Sample*> order;
  for (const Sample& s : samples) order.push_back(&s);
  std::sort(order.begin(), order.end(),
            [](const Sample* a, const Sample* b) { return a->linear.sum() < b->linear.sum(); });
  float total = 0, below = 0;
  for (const Sample* s : order) total += s->weight;
  const Sample* middle = order.front();
  for (const Sample* s : order) {
    middle = s;
    below += s->weight;
    if (below >= 0.5f * total) break;
  }
  Eigen::Vector3f sum = Eigen::Vector3f::Zero();
  float weights = 0;
  for (const Sample* s : order) {
    const Eigen::Vector3f off = s->linear - middle->linear;
    const float scale = 0.15f * middle->linear.mean() + 0.01f;
    const float bright = off.mean() > 0 ? 2.f : 1.f;
    const float w = s->weight / (1 + bright * off.squaredNorm() / (scale * scale));
    sum += w * s->linear;
    weights += w;
  }
  return sum / weights;
}

float middleOf(std::vector<float> values) {
  std::nth_element(values.begin(), values.begin() + long(values.size() / 2), values.end());
  return values[values.size() / 2];
}

/// Factors that make the photos' exposures alike on what they see together.
std::vector<float> matchExposures(const std::vector<std::vector<Sample>>& samples,
                                  std::size_t views) {
  std::vector<float> gain(views, 1);
  for (int round = 0; round < 3; ++round) {
    std::vector<std::vector<float>> ratios(views);
    for (std::size_t i = 0; i < samples.size(); i += 7) {
      if (samples[i].size() < 2) continue;
      std::vector<float> levels;
      for (const Sample& s : samples[i]) levels.push_back(gain[s.view] * s.linear.sum());
      const float level = middleOf(levels);
      for (const Sample& s : samples[i])
        if (s.linear.sum() > 0.03f && s.linear.maxCoeff() < 0.95f)
          ratios[s.view].push_back(level / s.linear.sum());
    }
    for (std::size_t v = 0; v < views; ++v) {
      if (ratios[v].size() < 50) continue;
      gain[v] = std::clamp(middleOf(ratios[v]), 0.4f, 2.5f);
    }
    // Only ratios are known: the middle photo keeps its exposure.
    const float middle = middleOf(gain);
    for (float& g : gain) g /= middle;
  }
  return gain;
}

/// Gives colourless vertices the mean of their coloured neighbours, spreading inwards.
void fillUnseen(const TriangleMesh& mesh, std::vector<Eigen::Vector3f>& colour,
                std::vector<char>& has) {
  for (int round = 0; round < 400; ++round) {
    std::vector<Eigen::Vector4f> sum(colour.size(), Eigen::Vector4f::Zero());
    bool changed = false;
    for (const auto& t : mesh.triangles)
      for (int k = 0; k < 3; ++k)
        for (int j : {t[(k + 1) % 3], t[(k + 2) % 3]})
          if (!has[t[k]] && has[j]) sum[t[k]] += colour[j].homogeneous();
    for (std::size_t i = 0; i < colour.size(); ++i)
      if (sum[i][3] > 0) {
        colour[i] = sum[i].head<3>() / sum[i][3];
        has[i] = 1;
        changed = true;
      }
    if (!changed) return;
  }
}

}  // namespace

void colourMesh(TriangleMesh& mesh, const std::vector<View>& views, const ColourOptions& options,
                const Progress& progress) {
  const std::size_t n = mesh.vertices_mm.size();
  const std::vector<Eigen::Vector3d> normals =
      mesh.normals.size() == n ? mesh.normals : vertexNormals(mesh);
  std::optional<MatBackground> mat;
  if (options.mat) mat.emplace(*options.mat, options.mat_points_H_mm);

  std::vector<std::vector<Sample>> samples(n);
  for (std::size_t v = 0; v < views.size(); ++v) {
    if (progress && !progress("colouring", double(v) / double(views.size()))) throw Interrupted();
    std::optional<PaperLight> light;
    if (mat) {
      light = fitPaperLight(views[v], *mat);
      if (!light) continue;
    }
    const Witness witness(views[v], mesh, light);
    tbb::parallel_for(std::size_t(0), n, [&](std::size_t i) {
      Sample s = witness.ask(mesh.vertices_mm[i], normals[i], options.least_cosine);
      s.view = int(v);
      keepBest(samples[i], s, std::size_t(options.photos_a_vertex));
    });
  }
  if (!mat) {
    const std::vector<float> gain = matchExposures(samples, views.size());
    for (auto& vertex : samples)
      for (Sample& s : vertex) s.linear *= gain[s.view];
  }

  std::vector<Eigen::Vector3f> colour(n, Eigen::Vector3f::Constant(0.2f));
  std::vector<char> has(n, 0);
  tbb::parallel_for(std::size_t(0), n, [&](std::size_t i) {
    if (samples[i].empty()) return;
    colour[i] = blend(samples[i]);
    has[i] = 1;
  });
  fillUnseen(mesh, colour, has);
  const double white = mat ? options.paper_reflectance : 1;
  mesh.colours.resize(n);
  for (std::size_t i = 0; i < n; ++i)
    for (int c = 0; c < 3; ++c) mesh.colours[i][c] = srgbFromLinear(white * double(colour[i][c]));
}

std::array<double, 3> medianColour_srgb(const TriangleMesh& mesh) {
  if (mesh.colours.empty() || mesh.colours.size() != mesh.vertices_mm.size())
    return {0.5, 0.5, 0.5};
  std::array<std::vector<std::uint8_t>, 3> channel;
  for (double above : {1.0, -std::numeric_limits<double>::infinity()}) {
    for (std::size_t i = 0; i < mesh.colours.size(); ++i)
      if (mesh.vertices_mm[i].z() > above)
        for (int c = 0; c < 3; ++c) channel[c].push_back(mesh.colours[i][c]);
    if (!channel[0].empty()) break;
  }
  std::array<double, 3> out{};
  for (int c = 0; c < 3; ++c) {
    // The tone curve is monotonic: the median is the same in linear light.
    auto middle = channel[c].begin() + long(channel[c].size() / 2);
    std::nth_element(channel[c].begin(), middle, channel[c].end());
    out[c] = *middle / 255.0;
  }
  return out;
}

}  // namespace holdshelf
