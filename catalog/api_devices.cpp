// SPDX-License-Identifier: Apache-2.0
// Routes about the devices that may use the page.
#include <chrono>
#include <optional>

#include "catalog/api.h"
#include "catalog/console.h"
#include "catalog/qr_code.h"
#include "mesh/bad_input.h"

namespace holdshelf {
namespace {

/// HttpOnly: no script reads it. Strict: no other site's page makes the browser send it.
std::string sessionCookie(const std::string& token, std::int64_t life_s) {
  return "holdshelf=" + token +
         "; HttpOnly; SameSite=Strict; Path=/; Max-Age=" + std::to_string(life_s);
}

ApiReply pair(Service& service, const ApiRequest& request) {
  PairingAttempt attempt;
  fromJson(request.body, "The pairing", attempt);
  const std::int64_t now = std::chrono::duration_cast<std::chrono::seconds>(
                               std::chrono::steady_clock::now().time_since_epoch())
                               .count();
  if (!service.pairing_tries.begin(request.address, now))
    throw ApiError(429, "Too many wrong codes: wait ten minutes, then ask for a new one.");
  std::optional<Devices::Paired> paired;
  try {
    paired = service.devices.pair(attempt.code(), attempt.name());
  } catch (const BadInput&) {  // About the name: the code was not looked at.
    service.pairing_tries.forgive(request.address);
    throw;
  }
  if (!paired)
    throw ApiError(403,
                   "This code is not known, was used, or is older than ten minutes: ask for a new "
                   "one at the gym's computer.");
  service.pairing_tries.forgive(request.address);
  ApiReply reply = jsonReply(paired->device);
  reply.cookie = sessionCookie(paired->token, Devices::kSessionLife_s);
  service.events.publish("devices", "{}");
  return reply;
}

ApiReply makeCode(Service& service, const ApiRequest& request) {
  PairingCode wanted;
  fromJson(request.body, "The code's role", wanted);
  PairingCode code = service.devices.makeCode(roleFromWord(wanted.role()));
  for (const std::string& address : service.addresses) code.add_addresses(address);
  if (!service.addresses.empty())
    code.set_qr_svg(qrSvg(qrCode(service.addresses.front() + "#/pair/" + code.code())));
  return jsonReply(code);
}

ApiReply list(Service& service, const ApiRequest&) { return jsonReply(service.devices.list()); }

ApiReply withdraw(Service& service, const ApiRequest& request) {
  service.devices.withdraw(request.id());
  service.events.publish("devices", "{}");
  return jsonReply(service.devices.list());
}

ApiReply leave(Service& service, const ApiRequest& request) {
  if (request.device_id.empty())
    throw BadInput("This is the gym's own computer: it needs no pairing and cannot leave.");
  service.devices.withdraw(request.device_id);
  service.events.publish("devices", "{}");
  ApiReply reply = jsonReply(DeviceList());
  reply.cookie = sessionCookie("", 0);
  return reply;
}

}  // namespace

std::vector<ApiRoute> deviceRoutes() {
  return {
      {.method = "POST",
       .path = "/api/v1/pair",
       .role = Role::None,
       .summary = "Show a code and get its role for this device; five wrong ones in ten minutes "
                  "and no more are taken",
       .takes = PairingAttempt::descriptor(),
       .gives = Device::descriptor(),
       .answer = pair},
      {.method = "POST",
       .path = "/api/v1/pairing-codes",
       .role = Role::Head,
       .summary = "A code for one more device; only its role is read",
       .takes = PairingCode::descriptor(),
       .gives = PairingCode::descriptor(),
       .answer = makeCode},
      {.method = "GET",
       .path = "/api/v1/devices",
       .role = Role::Head,
       .summary = "The devices that were paired",
       .gives = DeviceList::descriptor(),
       .answer = list},
      {.method = "DELETE",
       .path = "/api/v1/devices/{id}",
       .role = Role::Head,
       .summary = "Withdraw a device: it is shut out at once",
       .gives = DeviceList::descriptor(),
       .answer = withdraw},
      {.method = "POST",
       .path = "/api/v1/leave",
       .summary = "Give up this device's own pairing",
       .gives = DeviceList::descriptor(),
       .answer = leave},
  };
}

}  // namespace holdshelf
