// SPDX-License-Identifier: Apache-2.0
#include "capture/patch_kernel.h"

#include <doctest/doctest.h>
#include <sys/mman.h>
#include <unistd.h>

#include <cmath>
#include <random>

using namespace holdshelf;

namespace {

/// A picture whose last pixel is the last of its memory: what reads on is stopped.
class GuardedPicture {
 public:
  GuardedPicture(int rows, int cols) {
    const auto page = static_cast<std::size_t>(sysconf(_SC_PAGESIZE));
    const std::size_t bytes = sizeof(float) * static_cast<std::size_t>(rows * cols);
    const std::size_t room = (bytes + page - 1) / page * page;
    size_ = room + page;
    memory_ = static_cast<char*>(
        mmap(nullptr, size_, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0));
    REQUIRE(memory_ != MAP_FAILED);
    REQUIRE(mprotect(memory_ + room, page, PROT_NONE) == 0);
    grey_ = cv::Mat_<float>(rows, cols, reinterpret_cast<float*>(memory_ + room - bytes));
    std::mt19937 random(3);
    for (float& value : grey_) value = static_cast<float>(random() % 256);
  }
  ~GuardedPicture() { munmap(memory_, size_); }
  GuardedPicture(const GuardedPicture&) = delete;
  GuardedPicture& operator=(const GuardedPicture&) = delete;

  const cv::Mat_<float>& grey() const { return grey_; }

 private:
  char* memory_ = nullptr;
  std::size_t size_ = 0;
  cv::Mat_<float> grey_;
};

}  // namespace

TEST_CASE("patchCorrelation: a window with itself is 1, with its negative -1") {
  const GuardedPicture picture(40, 40);
  const cv::Mat_<std::uint8_t> all(40, 40, std::uint8_t{255});
  const PatchWindow window = patchWindow(picture.grey(), all, 20, 17);
  const PatchWarp same{20, 17, 1, 0, 0, 1};
  CHECK(patchCorrelation(window, picture.grey(), same) == doctest::Approx(1));
  CHECK(patchCorrelation(window, 255 - picture.grey(), same) == doctest::Approx(-1));
  CHECK(patchCorrelation(window, picture.grey(), {20, 36.5f, 1, 0, 0, 1}) == -1);  // Leaves it.
  CHECK(patchCorrelation(window, picture.grey(), {2.9f, 17, 1, 0, 0, 1}) == -1);
}

TEST_CASE("patchCorrelation: windows that end at the last row read nothing behind it") {
  const GuardedPicture picture(3999, 16);
  const cv::Mat_<std::uint8_t> all(picture.grey().size(), std::uint8_t{255});
  const PatchWindow window = patchWindow(picture.grey(), all, 8, 2000);
  REQUIRE_FALSE(window.flat);
  std::mt19937 random(9);
  std::uniform_real_distribution<float> scale(0.2f, 1.4f), turn(-0.4f, 0.4f);
  int beyond = 0, read = 0;
  for (int i = 0; i < 200'000; ++i) {
    PatchWarp w{8, 0, scale(random), 0, turn(random), scale(random)};
    const float reach = 3 * (std::abs(w.vx) + std::abs(w.vy));
    // The last float whose window, as it is judged, ends before the last row.
    w.v = std::nextafter(3998 - reach, 0.f);
    const float across = w.vx > 0 ? 3.f : -3.f;
    if (w.v + reach < 3998 && w.v + w.vx * across + w.vy * 3 >= 3998) ++beyond;
    read += patchCorrelation(window, picture.grey(), w) != -1;
    w.v -= 0.02f;
    read += patchCorrelation(window, picture.grey(), w) != -1;
  }
  CHECK(beyond > 100);  // Those that the reach alone would have let through.
  CHECK(read > 1000);   // The row before is still read.
}
