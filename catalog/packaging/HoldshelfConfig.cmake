# SPDX-License-Identifier: Apache-2.0
# find_package(Holdshelf) gives Holdshelf::mesh (measuring), Holdshelf::capture (photos to a mesh),
# Holdshelf::catalog (library and search) and Holdshelf::proto (the messages).
include(${CMAKE_CURRENT_LIST_DIR}/HoldshelfDependencies.cmake)
include(${CMAKE_CURRENT_LIST_DIR}/HoldshelfTargets.cmake)
