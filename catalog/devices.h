// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstdint>
#include <filesystem>
#include <functional>
#include <mutex>
#include <optional>
#include <string>

#include "catalog/role.h"
#include "catalog/sqlite.h"
#include "proto/server.pb.h"

namespace holdshelf {

/// The devices that may use the page over the network, in LIBRARY/serve/devices.sqlite: beside the
/// records, so that neither a copy nor an export of the library hands out access to it.
///
/// A device shows a code once and gets a token, which its browser keeps as a cookie. Codes and
/// tokens are kept as SHA-256 only. Several processes may have the same book open, so that the
/// command line withdraws what the server let in. Safe from several threads.
class Devices {
 public:
  static constexpr std::int64_t kCodeLife_s = 10 * 60;         ///< A code, until it is used.
  static constexpr std::int64_t kSessionLife_s = 30 * 86'400;  ///< A device, from its pairing on.
  static constexpr std::int64_t kUnusedLife_s = 7 * 86'400;    ///< A device that is not used.

  /// Opens the book of a library, or makes one. `clock` gives seconds since 1970.
  explicit Devices(const std::filesystem::path& library, std::function<std::int64_t()> clock = {});

  /// A new code for one device in this role. @throws BadInput  The role is None.
  PairingCode makeCode(Role role);

  struct Paired {
    Device device;
    std::string token;  ///< 64 hex digits: 256 random bits.
  };
  /// Takes the code, which is then used up. nullopt: there is no such code, or not any more.
  /// @throws BadInput  The name is empty or longer than 40 letters.
  std::optional<Paired> pair(const std::string& code, const std::string& name);

  /// The device that holds the token, unless it has expired or was withdrawn.
  std::optional<Device> find(const std::string& token);
  /// All that may come in, the last paired first.
  DeviceList list();
  /// @throws BadInput  There is no such device.
  void withdraw(const std::string& id);

 private:
  void forgetOld();

  std::function<std::int64_t()> clock_;
  std::mutex mutex_;
  sqlite::Database database_;
};

}  // namespace holdshelf
