// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <memory>

#include "catalog/api.h"
#include "catalog/web_files.h"

namespace httplib {
struct Request;
struct Response;
}  // namespace httplib

namespace holdshelf {

/// How answers go out over HTTP: the headers that bind the browser, what it may keep, and what is
/// worth compressing.

/// Forbids the browser to load, send or embed anything beyond this server, in every reply.
void setHeaders(httplib::Response& response);

/// An answer of the API: compressed where the browser takes it and it is more than a packet's worth
/// of text; 304 where the browser has it by its tag.
void sendReply(const httplib::Request& request, httplib::Response& response, ApiReply reply);

/// A file of the page, compressed beforehand; 304 as above.
void sendFile(const httplib::Request& request, httplib::Response& response,
              const std::shared_ptr<const WebFile>& file);

/// Turns a request down and ends the connection: the rest of it is unread, and what another site's
/// page sent as a body would be taken for the next request.
void turnDown(const httplib::Request& request, httplib::Response& response, const ApiReply& reply);

}  // namespace holdshelf
