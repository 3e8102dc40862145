using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Sqlite.Migrations
{
    /// <inheritdoc />
    public partial class WhatChanged : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<string>(
                name: "WhySmallerNumber",
                table: "Releases",
                type: "TEXT",
                nullable: false,
                defaultValue: "");

            migrationBuilder.AddColumn<long>(
                name: "WithdrawnAt",
                table: "Releases",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<string>(
                name: "WithdrawnBecause",
                table: "Releases",
                type: "TEXT",
                nullable: false,
                defaultValue: "");

            migrationBuilder.AddColumn<long>(
                name: "DeclaredAt",
                table: "Libraries",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "FromReleaseId",
                table: "Archives",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.CreateTable(
                name: "EarlyGuests",
                columns: table => new
                {
                    ReleaseId = table.Column<long>(type: "INTEGER", nullable: false),
                    PersonId = table.Column<long>(type: "INTEGER", nullable: false),
                    AddedAt = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_EarlyGuests", x => new { x.ReleaseId, x.PersonId });
                    table.ForeignKey(
                        name: "FK_EarlyGuests_AspNetUsers_PersonId",
                        column: x => x.PersonId,
                        principalTable: "AspNetUsers",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                    table.ForeignKey(
                        name: "FK_EarlyGuests_Releases_ReleaseId",
                        column: x => x.ReleaseId,
                        principalTable: "Releases",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "FaultReports",
                columns: table => new
                {
                    Id = table.Column<long>(type: "INTEGER", nullable: false)
                        .Annotation("Sqlite:Autoincrement", true),
                    LibraryId = table.Column<long>(type: "INTEGER", nullable: false),
                    ReleaseId = table.Column<long>(type: "INTEGER", nullable: false),
                    PersonId = table.Column<long>(type: "INTEGER", nullable: true),
                    Key = table.Column<int>(type: "INTEGER", nullable: true),
                    Path = table.Column<string>(type: "TEXT", nullable: true),
                    Words = table.Column<string>(type: "TEXT", nullable: false),
                    ReportedAt = table.Column<long>(type: "INTEGER", nullable: false),
                    SettledAt = table.Column<long>(type: "INTEGER", nullable: true),
                    MendedInReleaseId = table.Column<long>(type: "INTEGER", nullable: true),
                    Answer = table.Column<string>(type: "TEXT", nullable: false),
                    ToldAt = table.Column<long>(type: "INTEGER", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_FaultReports", x => x.Id);
                    table.ForeignKey(
                        name: "FK_FaultReports_AspNetUsers_PersonId",
                        column: x => x.PersonId,
                        principalTable: "AspNetUsers",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.SetNull);
                    table.ForeignKey(
                        name: "FK_FaultReports_Libraries_LibraryId",
                        column: x => x.LibraryId,
                        principalTable: "Libraries",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                    table.ForeignKey(
                        name: "FK_FaultReports_Releases_MendedInReleaseId",
                        column: x => x.MendedInReleaseId,
                        principalTable: "Releases",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.SetNull);
                    table.ForeignKey(
                        name: "FK_FaultReports_Releases_ReleaseId",
                        column: x => x.ReleaseId,
                        principalTable: "Releases",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "ReleaseComparisons",
                columns: table => new
                {
                    ReleaseId = table.Column<long>(type: "INTEGER", nullable: false),
                    FromReleaseId = table.Column<long>(type: "INTEGER", nullable: false),
                    AskedAt = table.Column<long>(type: "INTEGER", nullable: true),
                    ComparedAt = table.Column<long>(type: "INTEGER", nullable: true),
                    OfFolders = table.Column<string>(type: "TEXT", nullable: false),
                    Outcome = table.Column<string>(type: "TEXT", nullable: false),
                    Summary = table.Column<string>(type: "TEXT", nullable: false),
                    Trouble = table.Column<string>(type: "TEXT", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_ReleaseComparisons", x => new { x.ReleaseId, x.FromReleaseId });
                    table.ForeignKey(
                        name: "FK_ReleaseComparisons_Releases_FromReleaseId",
                        column: x => x.FromReleaseId,
                        principalTable: "Releases",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                    table.ForeignKey(
                        name: "FK_ReleaseComparisons_Releases_ReleaseId",
                        column: x => x.ReleaseId,
                        principalTable: "Releases",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateIndex(
                name: "IX_Archives_ReleaseId_FromReleaseId",
                table: "Archives",
                columns: new[] { "ReleaseId", "FromReleaseId" },
                unique: true,
                filter: "\"FromReleaseId\" IS NOT NULL");

            migrationBuilder.CreateIndex(
                name: "IX_EarlyGuests_PersonId",
                table: "EarlyGuests",
                column: "PersonId");

            migrationBuilder.CreateIndex(
                name: "IX_FaultReports_LibraryId_SettledAt",
                table: "FaultReports",
                columns: new[] { "LibraryId", "SettledAt" });

            migrationBuilder.CreateIndex(
                name: "IX_FaultReports_MendedInReleaseId",
                table: "FaultReports",
                column: "MendedInReleaseId");

            migrationBuilder.CreateIndex(
                name: "IX_FaultReports_PersonId",
                table: "FaultReports",
                column: "PersonId");

            migrationBuilder.CreateIndex(
                name: "IX_FaultReports_ReleaseId",
                table: "FaultReports",
                column: "ReleaseId");

            migrationBuilder.CreateIndex(
                name: "IX_ReleaseComparisons_FromReleaseId",
                table: "ReleaseComparisons",
                column: "FromReleaseId");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "EarlyGuests");

            migrationBuilder.DropTable(
                name: "FaultReports");

            migrationBuilder.DropTable(
                name: "ReleaseComparisons");

            migrationBuilder.DropIndex(
                name: "IX_Archives_ReleaseId_FromReleaseId",
                table: "Archives");

            migrationBuilder.DropColumn(
                name: "WhySmallerNumber",
                table: "Releases");

            migrationBuilder.DropColumn(
                name: "WithdrawnAt",
                table: "Releases");

            migrationBuilder.DropColumn(
                name: "WithdrawnBecause",
                table: "Releases");

            migrationBuilder.DropColumn(
                name: "DeclaredAt",
                table: "Libraries");

            migrationBuilder.DropColumn(
                name: "FromReleaseId",
                table: "Archives");
        }
    }
}
