// SPDX-License-Identifier: Apache-2.0
// Nothing: the headers that all tests read are precompiled with it (tests/CMakeLists.txt).
