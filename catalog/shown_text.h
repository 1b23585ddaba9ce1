// SPDX-License-Identifier: Apache-2.0
#pragma once
#include <cstddef>
#include <string>

namespace holdshelf {

/// Text without what a terminal takes for commands: the control characters C0 and C1 of ISO/IEC
/// 6429 (C1 in UTF-8, U+0080 to U+009F) and DEL; line breaks and tabs stay.
std::string withoutControls(const std::string& text);

/// Text that a person typed and others will be shown: without blanks around it, and without control
/// characters except the line breaks and tabs of a note.
/// @param most  Letters it may have: code points of UTF-8 (RFC 3629), not bytes.
/// @param what  What it is, for the sentence: "name".
/// @throws BadInput  It is longer.
std::string shownText(const std::string& text, std::size_t most, const std::string& what);
/// The same of text that has a line of its own: breaks and tabs go too.
std::string shownLine(const std::string& text, std::size_t most, const std::string& what);
/// The same of text that a program chose, like a file's name: what is longer is cut, not refused.
std::string shownStart(const std::string& text, std::size_t most);
/// The same of what is refused, for the sentence: blanks around it stay, since they may be why.
std::string givenStart(const std::string& text, std::size_t most);

}  // namespace holdshelf
