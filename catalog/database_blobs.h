// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <memory>

#include "catalog/blobs.h"

namespace holdshelf {

namespace postgres {
class Connection;
}

/// Blobs in the table `blob` of a library on PostgreSQL: in its backups, replicas and permissions,
/// with nothing to mount. Put outside of any transaction, each is durable when put returns; inside
/// a commit, with the commit.
class DatabaseBlobs : public Blobs {
 public:
  explicit DatabaseBlobs(std::shared_ptr<postgres::Connection> connection)
      : connection_(std::move(connection)) {}

  /// @throws BadInput  Also where a blob is larger than PostgreSQL takes (1 GB), or a damaged one
  /// is
  ///                   there that this role may not replace.
  std::string put(std::string_view bytes) override;
  std::string get(const std::string& name) const override;
  bool has(const std::string& name) const override;
  void discard(const std::string& name) override;
  std::vector<std::string> names() const override;

 private:
  std::shared_ptr<postgres::Connection> connection_;
};

}  // namespace holdshelf
