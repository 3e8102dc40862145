using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Sqlite.Migrations
{
    /// <inheritdoc />
    public partial class PeopleAndPrices : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<long>(
                name: "DeletedAt",
                table: "AspNetUsers",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "MergedIntoId",
                table: "AspNetUsers",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "VisitedAt",
                table: "AspNetUsers",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "VisitedBefore",
                table: "AspNetUsers",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.CreateTable(
                name: "AddressChanges",
                columns: table => new
                {
                    Id = table.Column<long>(type: "INTEGER", nullable: false)
                        .Annotation("Sqlite:Autoincrement", true),
                    PersonId = table.Column<long>(type: "INTEGER", nullable: false),
                    OldEmail = table.Column<string>(type: "TEXT", nullable: false),
                    NewEmail = table.Column<string>(type: "TEXT", nullable: false),
                    NormalizedNewEmail = table.Column<string>(type: "TEXT", nullable: false),
                    OldTokenHash = table.Column<string>(type: "TEXT", nullable: false),
                    NewTokenHash = table.Column<string>(type: "TEXT", nullable: false),
                    AskedAt = table.Column<long>(type: "INTEGER", nullable: false),
                    ExpiresAt = table.Column<long>(type: "INTEGER", nullable: false),
                    OldSaidYesAt = table.Column<long>(type: "INTEGER", nullable: true),
                    NewSaidYesAt = table.Column<long>(type: "INTEGER", nullable: true),
                    EndedAt = table.Column<long>(type: "INTEGER", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_AddressChanges", x => x.Id);
                    table.ForeignKey(
                        name: "FK_AddressChanges_AspNetUsers_PersonId",
                        column: x => x.PersonId,
                        principalTable: "AspNetUsers",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "Devices",
                columns: table => new
                {
                    Id = table.Column<long>(type: "INTEGER", nullable: false)
                        .Annotation("Sqlite:Autoincrement", true),
                    PersonId = table.Column<long>(type: "INTEGER", nullable: false),
                    Words = table.Column<string>(type: "TEXT", nullable: false),
                    SignedInAt = table.Column<long>(type: "INTEGER", nullable: false),
                    SeenAt = table.Column<long>(type: "INTEGER", nullable: false),
                    EndedAt = table.Column<long>(type: "INTEGER", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Devices", x => x.Id);
                    table.ForeignKey(
                        name: "FK_Devices_AspNetUsers_PersonId",
                        column: x => x.PersonId,
                        principalTable: "AspNetUsers",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateTable(
                name: "MemberImports",
                columns: table => new
                {
                    Id = table.Column<long>(type: "INTEGER", nullable: false)
                        .Annotation("Sqlite:Autoincrement", true),
                    Source = table.Column<string>(type: "TEXT", nullable: false),
                    Consent = table.Column<string>(type: "TEXT", nullable: false),
                    FileHash = table.Column<string>(type: "TEXT", nullable: false),
                    ImportedAt = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_MemberImports", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "MonthCredits",
                columns: table => new
                {
                    Id = table.Column<long>(type: "INTEGER", nullable: false)
                        .Annotation("Sqlite:Autoincrement", true),
                    Month = table.Column<string>(type: "TEXT", nullable: false),
                    Reason = table.Column<string>(type: "TEXT", nullable: false),
                    DecidedAt = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_MonthCredits", x => x.Id);
                });

            migrationBuilder.CreateTable(
                name: "PriceChanges",
                columns: table => new
                {
                    Id = table.Column<long>(type: "INTEGER", nullable: false)
                        .Annotation("Sqlite:Autoincrement", true),
                    FromPlanId = table.Column<long>(type: "INTEGER", nullable: false),
                    ToPlanId = table.Column<long>(type: "INTEGER", nullable: false),
                    From = table.Column<long>(type: "INTEGER", nullable: false),
                    Reason = table.Column<string>(type: "TEXT", nullable: false),
                    AnnouncedAt = table.Column<long>(type: "INTEGER", nullable: false),
                    CalledOffAt = table.Column<long>(type: "INTEGER", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_PriceChanges", x => x.Id);
                    table.ForeignKey(
                        name: "FK_PriceChanges_Plans_FromPlanId",
                        column: x => x.FromPlanId,
                        principalTable: "Plans",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Restrict);
                    table.ForeignKey(
                        name: "FK_PriceChanges_Plans_ToPlanId",
                        column: x => x.ToPlanId,
                        principalTable: "Plans",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Restrict);
                });

            migrationBuilder.CreateTable(
                name: "ImportedMembers",
                columns: table => new
                {
                    ImportId = table.Column<long>(type: "INTEGER", nullable: false),
                    PersonId = table.Column<long>(type: "INTEGER", nullable: false),
                    Consent = table.Column<string>(type: "TEXT", nullable: false),
                    GrantId = table.Column<long>(type: "INTEGER", nullable: true),
                    ClaimedAt = table.Column<long>(type: "INTEGER", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_ImportedMembers", x => new { x.ImportId, x.PersonId });
                    table.ForeignKey(
                        name: "FK_ImportedMembers_AspNetUsers_PersonId",
                        column: x => x.PersonId,
                        principalTable: "AspNetUsers",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                    table.ForeignKey(
                        name: "FK_ImportedMembers_MemberImports_ImportId",
                        column: x => x.ImportId,
                        principalTable: "MemberImports",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Restrict);
                    table.ForeignKey(
                        name: "FK_ImportedMembers_MembershipGrants_GrantId",
                        column: x => x.GrantId,
                        principalTable: "MembershipGrants",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.SetNull);
                });

            migrationBuilder.CreateTable(
                name: "MonthCreditLines",
                columns: table => new
                {
                    MonthCreditId = table.Column<long>(type: "INTEGER", nullable: false),
                    PersonId = table.Column<long>(type: "INTEGER", nullable: false),
                    PaymentId = table.Column<string>(type: "TEXT", nullable: false),
                    PaidMembershipId = table.Column<long>(type: "INTEGER", nullable: false),
                    Minor = table.Column<long>(type: "INTEGER", nullable: false),
                    Currency = table.Column<string>(type: "TEXT", nullable: false),
                    CreditedAt = table.Column<long>(type: "INTEGER", nullable: true),
                    IsPaidBack = table.Column<bool>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_MonthCreditLines", x => new { x.MonthCreditId, x.PersonId });
                    table.ForeignKey(
                        name: "FK_MonthCreditLines_MonthCredits_MonthCreditId",
                        column: x => x.MonthCreditId,
                        principalTable: "MonthCredits",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                    table.ForeignKey(
                        name: "FK_MonthCreditLines_PaidMemberships_PaidMembershipId",
                        column: x => x.PaidMembershipId,
                        principalTable: "PaidMemberships",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Restrict);
                });

            migrationBuilder.CreateTable(
                name: "PriceChangeLines",
                columns: table => new
                {
                    PriceChangeId = table.Column<long>(type: "INTEGER", nullable: false),
                    PaidMembershipId = table.Column<long>(type: "INTEGER", nullable: false),
                    ToldAt = table.Column<long>(type: "INTEGER", nullable: false),
                    AppliedAt = table.Column<long>(type: "INTEGER", nullable: true),
                    SkippedAt = table.Column<long>(type: "INTEGER", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_PriceChangeLines", x => new { x.PriceChangeId, x.PaidMembershipId });
                    table.ForeignKey(
                        name: "FK_PriceChangeLines_PaidMemberships_PaidMembershipId",
                        column: x => x.PaidMembershipId,
                        principalTable: "PaidMemberships",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Restrict);
                    table.ForeignKey(
                        name: "FK_PriceChangeLines_PriceChanges_PriceChangeId",
                        column: x => x.PriceChangeId,
                        principalTable: "PriceChanges",
                        principalColumn: "Id",
                        onDelete: ReferentialAction.Cascade);
                });

            migrationBuilder.CreateIndex(
                name: "IX_AddressChanges_NewTokenHash",
                table: "AddressChanges",
                column: "NewTokenHash",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_AddressChanges_OldTokenHash",
                table: "AddressChanges",
                column: "OldTokenHash",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_AddressChanges_PersonId",
                table: "AddressChanges",
                column: "PersonId");

            migrationBuilder.CreateIndex(
                name: "IX_Devices_PersonId_EndedAt",
                table: "Devices",
                columns: new[] { "PersonId", "EndedAt" });

            migrationBuilder.CreateIndex(
                name: "IX_ImportedMembers_GrantId",
                table: "ImportedMembers",
                column: "GrantId");

            migrationBuilder.CreateIndex(
                name: "IX_ImportedMembers_PersonId",
                table: "ImportedMembers",
                column: "PersonId");

            migrationBuilder.CreateIndex(
                name: "IX_MemberImports_FileHash",
                table: "MemberImports",
                column: "FileHash",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_MonthCreditLines_CreditedAt",
                table: "MonthCreditLines",
                column: "CreditedAt");

            migrationBuilder.CreateIndex(
                name: "IX_MonthCreditLines_PaidMembershipId",
                table: "MonthCreditLines",
                column: "PaidMembershipId");

            migrationBuilder.CreateIndex(
                name: "IX_MonthCredits_Month",
                table: "MonthCredits",
                column: "Month",
                unique: true);

            migrationBuilder.CreateIndex(
                name: "IX_PriceChangeLines_PaidMembershipId",
                table: "PriceChangeLines",
                column: "PaidMembershipId");

            migrationBuilder.CreateIndex(
                name: "IX_PriceChanges_FromPlanId",
                table: "PriceChanges",
                column: "FromPlanId");

            migrationBuilder.CreateIndex(
                name: "IX_PriceChanges_ToPlanId",
                table: "PriceChanges",
                column: "ToPlanId");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "AddressChanges");

            migrationBuilder.DropTable(
                name: "Devices");

            migrationBuilder.DropTable(
                name: "ImportedMembers");

            migrationBuilder.DropTable(
                name: "MonthCreditLines");

            migrationBuilder.DropTable(
                name: "PriceChangeLines");

            migrationBuilder.DropTable(
                name: "MemberImports");

            migrationBuilder.DropTable(
                name: "MonthCredits");

            migrationBuilder.DropTable(
                name: "PriceChanges");

            migrationBuilder.DropColumn(
                name: "DeletedAt",
                table: "AspNetUsers");

            migrationBuilder.DropColumn(
                name: "MergedIntoId",
                table: "AspNetUsers");

            migrationBuilder.DropColumn(
                name: "VisitedAt",
                table: "AspNetUsers");

            migrationBuilder.DropColumn(
                name: "VisitedBefore",
                table: "AspNetUsers");
        }
    }
}
