// SPDX-License-Identifier: Apache-2.0
// How well the judgement of grips agrees with labelled mountings of exactly known holds, and what
// it costs. Prints the "Grips" section of tests/bench/README.md. With --list also every mounting.
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <cstring>
#include <ctime>
#include <map>
#include <set>
#include <string>
#include <vector>

#include "catalog/foot_steps.h"
#include "catalog/grip_map.h"
#include "mesh/measure_shape.h"
#include "tests/shapes/faceted_shape.h"
#include "tests/shapes/labelled_mountings.h"
#include "tests/shapes/sdf_mesh.h"

using namespace holdshelf;

struct Cost {
  double wall_ms, processor_ms;
};

/// Least wall and processor time (all threads) of `work` over `runs` runs: other programs only add.
template <typename Work>
static Cost leastCost(int runs, Work work) {
  Cost least{1e9, 1e9};
  for (int i = 0; i < runs; ++i) {
    const auto start = std::chrono::steady_clock::now();
    const std::clock_t used = std::clock();
    work();
    const std::chrono::duration<double, std::milli> wall = std::chrono::steady_clock::now() - start;
    least.wall_ms = std::min(least.wall_ms, wall.count());
    least.processor_ms = std::min(
        least.processor_ms, 1000.0 * static_cast<double>(std::clock() - used) / CLOCKS_PER_SEC);
  }
  return least;
}

/// The shape of a labelled hold, measured on its mesh of 1 mm cells.
static const Shape& shapeOf(const std::string& key) {
  static std::map<std::string, Shape> shapes;
  auto [at, fresh] = shapes.try_emplace(key);
  if (fresh) {
    const ExactHold hold = labelledHold(key);
    at->second = measureShape(meshSdf(hold.solid, hold.box_mm, 1.0));
  }
  return at->second;
}

struct Answer {
  std::vector<std::string> words;  ///< Strongest first.
  std::string reason;
  std::string first() const { return words.empty() ? "nothing" : words.front(); }
};

static Answer ask(const LabelledMounting& m) {
  const GripModel model(shapeOf(m.hold));
  const Mounting mounting{m.rotation_deg, m.wall_angle_deg, m.pull_deg};
  Answer answer;
  for (GripKind kind : wordsAt(model, mounting)) answer.words.emplace_back(wordOf(kind));
  for (const HoldingForce& force : model.hands(mounting)) {
    if (!answer.reason.empty()) answer.reason += " | ";
    answer.reason += model.explain(force);
  }
  answer.reason += "; toe: " + model.explain(model.toe(m.rotation_deg, m.wall_angle_deg));
  return answer;
}

using Confusion = std::map<std::string, std::map<std::string, int>>;

static void printConfusion(const Confusion& confusion) {
  std::set<std::string> words;
  for (const auto& [label, answers] : confusion) {
    words.insert(label);
    for (const auto& [word, count] : answers) words.insert(word);
  }
  std::printf("| label \\ answer |");
  for (const auto& word : words) std::printf(" %s |", word.c_str());
  std::printf("\n|---|");
  for (std::size_t i = 0; i < words.size(); ++i) std::printf("---|");
  std::printf("\n");
  for (const auto& [label, answers] : confusion) {
    std::printf("| **%s** |", label.c_str());
    for (const auto& word : words) {
      const auto at = answers.find(word);
      at == answers.end() ? std::printf(" |") : std::printf(" %d |", at->second);
    }
    std::printf("\n");
  }
}

static void judgeHalf(const char* name, const std::vector<LabelledMounting>& mountings, bool list) {
  Confusion confusion;
  int right = 0, first = 0, words = 0;
  for (const LabelledMounting& m : mountings) {
    const Answer answer = ask(m);
    const bool agreed = agrees(m, answer.words);
    right += agreed;
    first += answer.first() == m.label;
    words += static_cast<int>(answer.words.size());
    ++confusion[m.label][agreed ? m.label : answer.first()];
    if (!list && agreed) continue;
    std::string all;
    for (const std::string& word : answer.words) all += (all.empty() ? "" : ", ") + word;
    std::fprintf(stderr, "%s%s at %.0f, wall %.0f, pull %.0f: labelled %s, answered %s: %s\n",
                 agreed ? "" : "WRONG ", m.hold.c_str(), m.rotation_deg, m.wall_angle_deg,
                 m.pull_deg, m.label.c_str(), all.empty() ? "nothing" : all.c_str(),
                 answer.reason.c_str());
  }
  const double all = static_cast<double>(mountings.size());
  std::printf(
      "\n%s: %d of %.0f agree, %.1f %%; the first word is the label in %d; %.2f words a mounting."
      "\n\n",
      name, right, all, 100.0 * right / all, first, words / all);
  printConfusion(confusion);
}

static void printSpeed() {
  const Shape four_edges = facetedShape({{.facing_deg = 90, .depth_mm = 45, .width_mm = 180},
                                         {.facing_deg = 0, .depth_mm = 20, .width_mm = 150},
                                         {.facing_deg = 180, .depth_mm = 25, .width_mm = 150},
                                         {.facing_deg = -90, .depth_mm = 14, .width_mm = 180}});
  const GripModel four(four_edges), bucket(shapeOf("bucket"));
  std::printf(
      "\n| full grip map, 72 rotations by 17 wall angles, hand and foot | wall, ms | processor, ms "
      "| bytes |\n");
  std::printf("|---|---|---|---|\n");
  for (const auto& [name, model] : {std::pair{"four long edges, up to three a rotation", &four},
                                    std::pair{"measured bucket", &bucket}}) {
    std::size_t bytes = 0;
    const Cost cost = leastCost(31, [&, m = model] { bytes = makeGripMap(*m).ByteSizeLong(); });
    std::printf("| %s | %.1f | %.1f | %zu |\n", name, cost.wall_ms, cost.processor_ms, bytes);
  }
}

int main(int argc, char** argv) {
  const bool judge = argc < 2 || std::strcmp(argv[1], "--tune") != 0;
  const bool list = argc > 1 && std::strcmp(argv[1], "--list") == 0;
  judgeHalf("Tuned", tunedMountings(), list);
  if (judge) judgeHalf("Judged", judgedMountings(), list);
  printSpeed();
}
