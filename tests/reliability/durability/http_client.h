// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>

namespace holdshelf::test {

/// What came back for one request.
struct HttpAnswer {
  int status = 0;    ///< 0: no answer within the time, or none at all.
  std::string body;  ///< As sent, nothing unpacked; without a status whatever came instead.
};

/// Sends raw bytes to a port of this machine and returns all that comes back until the other side
/// ends it. Empty where it ends without a word; "no answer: ..." where nothing comes within
/// `limit_s` or the connection is reset before; "no connection: ..." where nothing listens.
/// @param patience_ms  When nothing came for so long the sending side is ended, as by somebody who
///                     goes away in the middle of a request; 0: never.
std::string exchangeBytes(int port, const std::string& bytes, int limit_s = 300,
                          int patience_ms = 0);

/// One request on a connection of its own.
HttpAnswer askServer(int port, const std::string& method, const std::string& target,
                     const std::string& body = "");

}  // namespace holdshelf::test
