// SPDX-License-Identifier: Apache-2.0
#include "catalog/http_reply.h"

#include <httplib.h>

namespace holdshelf {
namespace {

constexpr std::size_t kWorthCompressing = 1400;

/// Sends bytes as they are. The library would compress once more, slowly; with a provider of known
/// length it leaves them alone.
void sendBytes(httplib::Response& response, const std::shared_ptr<const std::string>& bytes,
               const std::string& type) {
  if (bytes->empty()) return response.set_content("", type);
  response.set_content_provider(
      bytes->size(), type,
      [bytes](std::size_t offset, std::size_t length, httplib::DataSink& sink) {
        // The library asks for whatever part a browser asked for, be it there or not.
        if (offset > bytes->size() || length > bytes->size() - offset) return false;
        return sink.write(bytes->data() + offset, length);
      });
}

bool takesGzip(const httplib::Request& request) {
  return request.get_header_value("Accept-Encoding").find("gzip") != std::string::npos;
}

bool notModified(const httplib::Request& request, httplib::Response& response,
                 const std::string& tag) {
  if (tag.empty()) {
    response.set_header("Cache-Control", "no-store");
    return false;
  }
  response.set_header("ETag", "\"" + tag + "\"");
  response.set_header("Cache-Control", "no-cache");
  if (request.get_header_value("If-None-Match") != "\"" + tag + "\"") return false;
  response.status = 304;
  return true;
}

}  // namespace

void setHeaders(httplib::Response& response) {
  response.set_header("Content-Security-Policy",
                      "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' "
                      "blob:; connect-src 'self'; manifest-src 'self'; base-uri 'none'; "
                      "form-action 'none'; frame-ancestors 'none'");
  response.set_header("X-Content-Type-Options", "nosniff");
  response.set_header("Accept-Ranges", "none");
  response.set_header("Referrer-Policy", "no-referrer");
  response.set_header("Cross-Origin-Opener-Policy", "same-origin");
  response.set_header("Cross-Origin-Resource-Policy", "same-origin");
  response.set_header("Permissions-Policy", "geolocation=(), microphone=(), payment=()");
}

// Saying "Connection: close" makes the library end nothing, a body that cannot be sent does: so all
// of it is sent, then that is said.
void turnDown(const httplib::Request& request, httplib::Response& response, const ApiReply& reply) {
  setHeaders(response);
  response.status = reply.status;
  response.set_header("Connection", "close");
  response.set_header("Cache-Control", "no-store");
  response.set_header("Content-Length", std::to_string(reply.body.size()));
  response.set_content_provider(reply.type,
                                [body = reply.body](std::size_t, httplib::DataSink& sink) {
                                  sink.write(body.data(), body.size());
                                  return false;
                                });
  // A body is sent for no HEAD, and not whole for a range. The library's request is no constant.
  auto& its = const_cast<httplib::Request&>(request);
  its.ranges.clear();
  if (its.method == "HEAD") its.method = "GET";
}

void sendReply(const httplib::Request& request, httplib::Response& response, ApiReply reply) {
  setHeaders(response);
  response.status = reply.status;
  if (!reply.cookie.empty()) response.set_header("Set-Cookie", reply.cookie);
  if (notModified(request, response, reply.tag)) return;
  if (!reply.file_name.empty())
    response.set_header("Content-Disposition", "inline; filename=\"" + reply.file_name + "\"");
  const bool compress = reply.type != "image/png" && reply.type != "image/jpeg" &&
                        reply.body.size() > kWorthCompressing;
  if (compress && takesGzip(request)) {
    response.set_header("Content-Encoding", "gzip");
    reply.body = gzipped(reply.body);
  }
  sendBytes(response, std::make_shared<const std::string>(std::move(reply.body)), reply.type);
}

void sendFile(const httplib::Request& request, httplib::Response& response,
              const std::shared_ptr<const WebFile>& file) {
  setHeaders(response);
  response.status = 200;
  if (notModified(request, response, file->tag)) return;
  const bool gzip = !file->gzip.empty() && takesGzip(request);
  if (gzip) response.set_header("Content-Encoding", "gzip");
  sendBytes(response, {file, gzip ? &file->gzip : &file->bytes}, file->type);
}

}  // namespace holdshelf
