// SPDX-License-Identifier: Apache-2.0
// Goes before the library's own header where ThreadSanitizer looks: with its macro set, maps have
// two members more there, of which the library as it is installed, built without it, knows nothing.
#pragma GCC system_header  // #include_next is an extension.
#pragma push_macro("__SANITIZE_THREAD__")
#undef __SANITIZE_THREAD__
#include_next <google/protobuf/map_field.h>
#pragma pop_macro("__SANITIZE_THREAD__")
