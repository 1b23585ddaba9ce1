// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <string>
#include <vector>

#include "catalog/api.h"

namespace holdshelf {

/// The routes as an OpenAPI 3.0.3 document in JSON. The schemas are made from the messages'
/// descriptors by the rules of the proto3 JSON mapping (64-bit numbers and bytes as strings, enums
/// by name).
std::string openApiDocument(const std::vector<ApiRoute>& routes);

}  // namespace holdshelf
