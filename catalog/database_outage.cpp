// SPDX-License-Identifier: Apache-2.0
#include "catalog/database_outage.h"

#include <algorithm>
#include <chrono>
#include <thread>

#include "catalog/library_store.h"

using namespace std::chrono_literals;

namespace holdshelf {
namespace {

constexpr auto kLook = 250ms;  // How soon a stop is noticed.
constexpr std::chrono::milliseconds kFirstPause = 500ms, kLongestPause = 10s;

}  // namespace

bool doThroughOutages(const std::function<void(const std::function<void()>& reached)>& work,
                      const std::function<void(const std::string& why)>& lost,
                      const std::function<bool()>& stop) {
  for (auto pause = kFirstPause;; pause = std::min(pause * 2, kLongestPause)) {
    std::string why;
    try {
      work([&] { pause = kFirstPause; });
      return true;
    } catch (const StoreUnavailable& error) {
      why = error.what();
    } catch (const StoreError& error) {
      why = error.what();
    }
    lost(why);
    for (std::chrono::milliseconds waited{}; waited < pause; waited += kLook) {
      if (stop && stop()) return false;
      std::this_thread::sleep_for(kLook);
    }
  }
}

}  // namespace holdshelf
