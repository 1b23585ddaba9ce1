// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <malloc.h>
#include <sys/resource.h>

#include <chrono>
#include <fstream>
#include <string>

namespace holdshelf {

/// Time by the clock, processor time and peak memory of a piece of work in this process, from the
/// making of the meter on. Linux: the peak of memory starts anew by /proc/self/clear_refs.
class Meter {
 public:
  Meter() {
    malloc_trim(0);
    std::ofstream("/proc/self/clear_refs") << 5;
    cpu_ = cpuSeconds();
  }

  double wall_s() const {
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - start_).count();
  }

  /// Of all threads of the process, in user and system.
  double cpu_s() const { return cpuSeconds() - cpu_; }

  /// The most that was resident since the last meter was made, MiB; 0 where /proc does not say.
  static double peakMiB() {
    std::ifstream in("/proc/self/status");
    for (std::string line; std::getline(in, line);)
      if (line.rfind("VmHWM:", 0) == 0) return std::stod(line.substr(6)) / 1024;
    return 0;
  }

 private:
  static double cpuSeconds() {
    rusage usage{};
    getrusage(RUSAGE_SELF, &usage);
    return double(usage.ru_utime.tv_sec + usage.ru_stime.tv_sec) +
           1e-6 * double(usage.ru_utime.tv_usec + usage.ru_stime.tv_usec);
  }

  std::chrono::steady_clock::time_point start_ = std::chrono::steady_clock::now();
  double cpu_ = 0;
};

}  // namespace holdshelf
