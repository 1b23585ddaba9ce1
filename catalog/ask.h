// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <functional>
#include <memory>
#include <string>

#include "catalog/find.h"
#include "catalog/library.h"
#include "mesh/pen.h"
#include "proto/query.pb.h"

namespace holdshelf {

/// The one entry to search, for the program, the web server and anyone else:
///
///     const SearchIndex index(library);               // once; again when lastEvent() has changed
///     FindResult r = ask(library, index, "red edge 14..20 mm deep, incut over 5, bin A3");
///     FindResult r = ask(library, index, R"({"colours": ["red"], "foot": true})");
///
/// A question is a line of text as people in the trade talk (query_line.h has the grammar) or, when
/// it begins with a brace, the proto3 JSON mapping of a Query; the flags of `holdshelf find` fold
/// into the same message. The result holds the ranked hits, or the nearest misses with the limit
/// that excludes each, and one sentence. With a wanted lip every hit has both lips as points, ready
/// to be drawn; overlayPlot() draws them.
///
/// index.find() may be called from several threads at once; a Library belongs to one thread.
/// @throws BadInput  One sentence that points at the word that is not understood, or says what a
///                   query lacks.
FindResult ask(const Library& library, const SearchIndex& index, const std::string& question);

/// The same for a query that is a message already. Where hands or feet were asked for, the hits
/// shown also get the uncertainty and the word of their force, from the grip maps as stored.
FindResult ask(const Library& library, const SearchIndex& index, const Query& query);

/// The same, from the rows of a large shared library where those can answer (shared_find.h), which
/// then needs no index; else from the one that `index` gives.
FindResult ask(const Library& library,
               const std::function<std::shared_ptr<const SearchIndex>()>& index,
               const Query& query);

/// A question in either form as a message, with a limit of 20 hits where it names none.
Query queryOf(const std::string& question);

/// What was asked, in words: "holds like H-0123 by their lip; protrusion 30 mm or less; red".
std::string queryText(const Query& query);

/// The wanted lip over the hit's, as SVG and PNG, with the gap in words.
/// @throws BadInput  The hit is of a query without a lip.
Plot overlayPlot(const Query& query, const FindHit& hit);

}  // namespace holdshelf
