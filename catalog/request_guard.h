// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>
#include <functional>
#include <optional>
#include <string>

#include "catalog/api.h"
#include "catalog/role.h"

namespace httplib {
struct Request;
}

namespace holdshelf {

/// The largest body that any device may send: a piece of a photo.
constexpr std::size_t kMostBody = 9U << 20;

/// What is wrong with a request by its head alone, before its body is read and any route sees it;
/// nullopt: nothing. Each with the status of RFC 9110 that says it:
///   421  the machine is called by a foreign name (own_address.h);
///   414  an address that, without its query, is longer than any here;
///   403  a change that another site's page asks for (Sec-Fetch-Site, Origin);
///   400  an address that is not UTF-8, a Content-Length that is no number, a body with a GET;
///   411  a body of unsaid length; 415 a compressed one or one in parts, a few bytes of which could
///        unfold to more than the machine holds, or a form; 416 several ranges; 501 other methods;
///   401  more than 64 kB of a device that is not paired, where it would have to be;
///   413  more than 64 kB, or more than kMostBody of a device that may take holds in.
/// @param role_of  Who asks; called only where the answer depends on it.
std::optional<ApiReply> turnedDown(const httplib::Request& request,
                                   const std::function<Role()>& role_of);

/// Whether the body ended before the length that its head says: the line was lost, or too slow.
bool wasCutOff(const httplib::Request& request);

/// Whether who asks sits at this machine: not where a proxy on it says that it passes on what
/// others ask (RFC 7239; RFC 9110, 7.6.3; X-Forwarded-For is common practice). One that does not
/// say so cannot be told from who sits here.
bool sitsHere(const httplib::Request& request);

/// The token that the device was given, from its cookies; empty: none.
std::string tokenOf(const httplib::Request& request);

}  // namespace holdshelf
