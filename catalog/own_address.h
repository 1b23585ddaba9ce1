// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

namespace holdshelf {

/// What others on the network call this machine: the part of the server that asks the system for
/// its name and addresses.

/// The page's address by this machine's name in its network (multicast DNS, RFC 6762); empty where
/// it has no name.
std::string ownPageAddress(int port);

/// The page's addresses where it listens at `host`: of all networks of this machine for 0.0.0.0 and
/// :: (IPv4: what a phone can be told by a short code), else of this one.
std::vector<std::string> pageAddresses(const std::string& host, int port);

/// Whether a Host header (RFC 9110, 7.2) calls the machine by an address or by one of its own
/// names. A foreign name that resolves to us means that some site's page is asking in the user's
/// name (DNS rebinding).
bool namesThisMachine(const std::string& host_header);

/// An address that only this machine itself can come from.
bool isLoopback(const std::string& address);

}  // namespace holdshelf
